-- Drives Neovim: nvim --headless -u NONE -i NONE -n -c 'luafile neovim.lua', in the folder of
-- the editors, with the program on the path.

local function fail(what)
  io.stderr:write("neovim: " .. what .. "\n")
  vim.cmd("cquit 1")
end

local function check(ok, what, seen)
  if not ok then
    fail(what .. (seen == nil and "" or "; seen: " .. vim.inspect(seen)))
  end
end

local function wait(what, condition)
  check(vim.wait(20000, condition, 10), "waited for " .. what .. " in vain")
end

local function main()
  vim.opt.runtimepath:append(vim.fn.getcwd() .. "/neovim")
  vim.cmd("filetype plugin on | syntax on")
  vim.cmd("runtime! plugin/bitepoint.lua")
  vim.lsp.inlay_hint.enable(true)
  vim.cmd("edit tests/desk.clutch")
  local buffer = vim.api.nvim_get_current_buf()
  local function line(number)
    return vim.api.nvim_buf_get_lines(buffer, number - 1, number, true)[1]
  end
  check(vim.bo.filetype == "clutch", "the file type", vim.bo.filetype)

  -- Highlighting.
  local function group(number, text)
    local column = line(number):find(text, 1, true)
    return vim.fn.synIDattr(vim.fn.synID(number, column, 1), "name")
  end
  for text, expected in pairs({ system = "clutchStructure", desk = "clutchDefined", slave = "clutchBlock", hy_s25 = "clutchPart" }) do
    check(group(4, text) == expected, text .. " is highlighted", group(4, text))
  end
  for text, expected in pairs({ travel = "clutchField", ["150"] = "clutchNumber", mm = "clutchUnit" }) do
    check(group(8, text) == expected, text .. " is highlighted", group(8, text))
  end

  -- The finding stands below the part, whatever comes before it on the line.
  local function findings()
    return vim.tbl_filter(function(found)
      return found.code == "short-release"
    end, vim.diagnostic.get(buffer))
  end
  wait("the finding", function()
    return #findings() == 1
  end)
  local found = findings()[1]
  local first, last = line(4):find("hy_s25", 1, true)
  local place = { found.lnum, found.col, found.end_lnum, found.end_col }
  check(vim.deep_equal(place, { 3, first - 1, 3, last }), "the finding's place", place)

  -- Hover.
  vim.api.nvim_win_set_cursor(0, { 4, first - 1 })
  vim.lsp.buf.hover()
  local hover
  wait("the hover", function()
    for _, window in ipairs(vim.api.nvim_list_wins()) do
      if vim.api.nvim_win_get_config(window).relative ~= "" then
        local shown = vim.api.nvim_win_get_buf(window)
        hover = table.concat(vim.api.nvim_buf_get_lines(shown, 0, -1, true), "\n")
        return true
      end
    end
  end)
  check(hover:find("hy_s25", 1, true), "the hover speaks of the part", hover)

  -- Inlay hints.
  local function hint(number)
    for _, found in ipairs(vim.lsp.inlay_hint.get({ bufnr = buffer })) do
      if found.inlay_hint.position.line == number - 1 then
        return found.inlay_hint.label
      end
    end
  end
  wait("the inlay hint", function()
    return hint(4)
  end)
  check(hint(4):find("margin %-0.33 mm") or hint(4):find("margin −0.33 mm"), "the inlay hint", hint(4))

  -- A cure, applied.
  local cured = line(4):gsub("hy_s25", "hy_s25 { bore = 15/16 in }")
  vim.lsp.buf.code_action({
    apply = true,
    filter = function(action)
      return vim.startswith(action.title, "use a 15/16 in slave")
    end,
  })
  wait("the cure", function()
    return line(4) == cured
  end)
  wait("the finding to go", function()
    return #findings() == 0
  end)

  -- Completion, accepted.
  vim.api.nvim_buf_set_lines(buffer, 8, 8, true, { "    return_for" })
  vim.api.nvim_win_set_cursor(0, { 9, 0 })
  local keys = vim.api.nvim_replace_termcodes("A<C-x><C-o>", true, false, true)
  vim.api.nvim_feedkeys(keys, "n", false)
  local step = 0
  -- Keys are worked on once this function has returned; what follows waits for the screen.
  local timer = vim.uv.new_timer()
  local started = vim.uv.now()
  timer:start(10, 10, vim.schedule_wrap(function()
    if timer:is_closing() then
      return
    end
    local done, problem = pcall(function()
      check(vim.uv.now() - started < 20000, "waited in vain at step " .. step, vim.fn.mode())
      if step == 0 and vim.fn.pumvisible() == 1 then
        step = 1
        local accept = vim.api.nvim_replace_termcodes("<C-n><C-y><Esc>", true, false, true)
        vim.api.nvim_feedkeys(accept, "n", false)
      elseif step == 0 and vim.fn.mode() == "i" and line(9):find("return_force", 1, true) then
        -- The only one that fits was put in at once.
        step = 1
        vim.api.nvim_feedkeys(vim.api.nvim_replace_termcodes("<Esc>", true, false, true), "n", false)
      elseif step == 1 and vim.fn.mode() == "n" and line(9):find("return_force", 1, true) then
        step = 2
        timer:close()
        -- Formatting.
        vim.api.nvim_buf_set_lines(buffer, 8, 9, true, { "return_force=12 N" })
        local text = table.concat(vim.api.nvim_buf_get_lines(buffer, 0, -1, true), "\n") .. "\n"
        local wanted = vim.fn.system({ "bitepoint", "fmt", "-" }, text)
        check(text ~= wanted, "there is something to format")
        vim.lsp.buf.format({ timeout_ms = 20000 })
        local formatted = table.concat(vim.api.nvim_buf_get_lines(buffer, 0, -1, true), "\n") .. "\n"
        check(formatted == wanted, "the formatting", formatted)
        print("neovim: seen\n")
        vim.cmd("qall!")
      end
    end)
    if not done then
      fail(problem)
    end
  end))
end

local done, problem = xpcall(main, debug.traceback)
if not done then
  fail(problem)
end
