-- Sees the colours and folds of the tree-sitter grammar in Neovim: nvim --headless -u NONE -i NONE -n
-- -c 'luafile neovim_tree.lua', in the folder of the editors, with tree-sitter/parser/clutch.so.

local function check(ok, what, seen)
  if not ok then
    io.stderr:write("neovim: " .. what .. (seen == nil and "" or "; seen: " .. vim.inspect(seen)) .. "\n")
    vim.cmd("cquit 1")
  end
end

vim.opt.runtimepath:append(vim.fn.getcwd() .. "/neovim")
vim.opt.runtimepath:append(vim.fn.getcwd() .. "/tree-sitter")
vim.cmd("filetype plugin on | syntax on")
vim.cmd("edit tests/desk.clutch")
check(vim.treesitter.highlighter.active[vim.api.nvim_get_current_buf()] ~= nil, "the tree colours the file")
local parser = vim.treesitter.get_parser(0, "clutch")
local root = parser:parse(true)[1]:root()
check(not root:has_error(), "the tree is without an error", root:sexpr())

local function captures(number, text)
  local line = vim.api.nvim_buf_get_lines(0, number - 1, number, true)[1]
  local column = line:find(text, 1, true)
  local names = vim.tbl_map(function(capture)
    return capture.capture
  end, vim.treesitter.get_captures_at_pos(0, number - 1, column - 1))
  return names
end

for _, expected in ipairs({
  { 4, "system", "keyword" },
  { 4, "desk", "module" },
  { 4, "slave", "type" },
  { 4, "hy_s25", "constant" },
  { 8, "travel", "property" },
  { 8, "150", "number" },
  { 8, "mm", "type.builtin" },
}) do
  local seen = captures(expected[1], expected[2])
  check(vim.list_contains(seen, expected[3]), expected[2] .. " has the colour of " .. expected[3], seen)
end

vim.wo.foldmethod = "expr"
vim.cmd("normal! zx")
check(vim.wo.foldexpr:find("treesitter", 1, true), "folds are those of the tree", vim.wo.foldexpr)
local last = vim.fn.line("$")
local deepest = 0
for number = 1, last do
  deepest = math.max(deepest, vim.fn.foldlevel(number))
end
check(deepest >= 1, "a body folds", deepest)
vim.cmd("quitall!")
