-- What Neovim 0.11 and newer reads with vim.lsp.enable("bitepoint").
return {
  cmd = { "bitepoint", "serve" },
  filetypes = { "clutch" },
  root_markers = { "bitepoint.toml", ".git" },
}
