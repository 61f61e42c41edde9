-- Starts the language server for every spec that is opened.
if vim.g.loaded_bitepoint then
  return
end
vim.g.loaded_bitepoint = true

-- The settings are TOML to Neovim, and only those in a file of this name are ours.
local settings = vim.api.nvim_create_augroup("bitepoint_settings", {})
local function with_settings(start)
  vim.api.nvim_create_autocmd({ "BufReadPost", "BufNewFile" }, {
    group = settings,
    pattern = "bitepoint.toml",
    callback = function(args)
      start(args.buf)
    end,
  })
end

if vim.lsp.enable then
  vim.lsp.enable("bitepoint")
  with_settings(function(buffer)
    local config = vim.lsp.config.bitepoint
    vim.lsp.start(vim.tbl_extend("force", config, {
      name = "bitepoint",
      root_dir = vim.fs.root(buffer, config.root_markers),
    }), { bufnr = buffer })
  end)
  return
end

-- Neovim 0.10
local function start(buffer)
  vim.lsp.start({
    name = "bitepoint",
    cmd = { "bitepoint", "serve" },
    root_dir = vim.fs.root(buffer, { "bitepoint.toml", ".git" }),
  }, { bufnr = buffer })
end

local group = vim.api.nvim_create_augroup("bitepoint", {})
vim.api.nvim_create_autocmd("FileType", {
  group = group,
  pattern = "clutch",
  callback = function(args)
    if vim.bo[args.buf].buftype == "" then
      start(args.buf)
    end
  end,
})
with_settings(start)
