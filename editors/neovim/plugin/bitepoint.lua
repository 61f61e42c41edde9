-- Starts the language server for every spec that is opened.
if vim.g.loaded_bitepoint then
  return
end
vim.g.loaded_bitepoint = true

if vim.lsp.enable then
  vim.lsp.enable("bitepoint")
  return
end

-- Neovim 0.10
local group = vim.api.nvim_create_augroup("bitepoint", {})
vim.api.nvim_create_autocmd("FileType", {
  group = group,
  pattern = "clutch",
  callback = function(args)
    if vim.bo[args.buf].buftype ~= "" then
      return
    end
    vim.lsp.start({
      name = "bitepoint",
      cmd = { "bitepoint", "serve" },
      root_dir = vim.fs.root(args.buf, { "bitepoint.toml", ".git" }),
    }, { bufnr = args.buf })
  end,
})
