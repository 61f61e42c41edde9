vim.bo.commentstring = "# %s"
vim.bo.expandtab = true
vim.bo.shiftwidth = 4
vim.bo.tabstop = 4
vim.b.undo_ftplugin = "setlocal commentstring< expandtab< shiftwidth< tabstop<"
