vim.bo.commentstring = "# %s"
vim.bo.expandtab = true
vim.bo.shiftwidth = 4
vim.bo.tabstop = 4
-- The grammar of ../tree-sitter, where it is compiled and on the runtime path.
if #vim.api.nvim_get_runtime_file("parser/clutch.so", false) > 0 and pcall(vim.treesitter.start) then
  vim.wo[0][0].foldexpr = "v:lua.vim.treesitter.foldexpr()"
end
vim.b.undo_ftplugin = "setlocal commentstring< expandtab< foldexpr< shiftwidth< tabstop<"
