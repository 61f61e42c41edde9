vim.filetype.add({ extension = { clutch = "clutch" } })
