-- Neovim tries `editors/neovim` on a copy of the demo season, which is its working folder: what a brewer does, by the
-- functions that Neovim's own keys call. Run by test_neovim.py; ends with 0, or with 1 and what went wrong.
--
--     nvim --headless -u NORC -i NONE -n --cmd "set runtimepath+=…/editors/neovim" -c "luafile neovim.lua"

local TOO_LONG = 60000
local version = vim.version()
local modern = version.major > 0 or version.minor >= 11

local function say(text) io.stderr:write(text .. "\n") end

local function check(what, holds, seen)
  if not holds then error(what .. (seen ~= nil and ("\nseen: " .. vim.inspect(seen)) or ""), 2) end
  say("ok: " .. what)
end

local function await(what, condition)
  if not vim.wait(TOO_LONG, condition, 10) then error("waited in vain: " .. what, 2) end
  say("ok: " .. what)
end

local function clients() return vim.lsp.get_clients and vim.lsp.get_clients() or vim.lsp.get_active_clients() end

local function text(buffer) return table.concat(vim.api.nvim_buf_get_lines(buffer, 0, -1, false), "\n") end

local function on_disk(path) return table.concat(vim.fn.readfile(path), "\n") end

-- Puts the cursor at the start of what a plain text search finds.
local function go(plain)
  vim.fn.cursor(1, 1)
  local line = vim.fn.search("\\V" .. plain, "cW")
  if line == 0 then error("not in the buffer: " .. plain, 2) end
end

local function found(buffer, code)
  for _, each in ipairs(vim.diagnostic.get(buffer)) do
    local its = each.code or (each.user_data and each.user_data.lsp and each.user_data.lsp.code)
    if its == code then return each end
  end
end

local function floating()
  for _, window in ipairs(vim.api.nvim_list_wins()) do
    if vim.api.nvim_win_get_config(window).relative ~= "" then return window end
  end
end

-- Takes the action whose title has these words, as a person who is asked would.
local function act(words)
  local offered, done = {}, false
  vim.ui.select = function(items, options, choose)
    for _, item in ipairs(items) do
      local title = options.format_item(item)
      table.insert(offered, title)
      if title:find(words, 1, true) then
        done = true
        return choose(item)
      end
    end
    choose(nil)
  end
  vim.lsp.buf.code_action()
  if not vim.wait(TOO_LONG, function() return done or #offered > 0 end, 10) or not done then
    error("no action " .. words .. "\noffered: " .. vim.inspect(offered), 2)
  end
end

local function main()
  -- Nothing that lies in a workspace is run.
  check("a program in the workspace waits", vim.fn.executable("./barm") == 1)
  vim.cmd("edit ales/spring.barm")
  local spring = vim.api.nvim_get_current_buf()
  check("the filetype", vim.bo.filetype == "barm", vim.bo.filetype)
  check("how comments are made", vim.bo.commentstring == "# %s", vim.bo.commentstring)
  await("a client", function() return #clients() == 1 and clients()[1].initialized end)
  local client = clients()[1]
  check("the folder of the workspace", client.config.root_dir == vim.fn.getcwd(), client.config.root_dir)
  check("columns", client.offset_encoding == (modern and "utf-8" or "utf-16"), client.offset_encoding)

  await("findings", function() return found(spring, "stale-culture") end)
  check("their line", found(spring, "stale-culture").lnum == 90, found(spring, "stale-culture"))
  if modern then check("they were asked for", client.server_capabilities.diagnosticProvider ~= nil) end

  vim.cmd("edit lagers/spring.barm")
  local lagers = vim.api.nvim_get_current_buf()
  await("findings of another folder", function() return found(lagers, "underpitched") end)
  check("one server for both", #clients() == 1, #clients())

  -- Hover.
  vim.cmd("buffer " .. spring)
  go("tide-b 300 mL")
  vim.lsp.buf.hover()
  await("a window with what is told", floating)
  local told = text(vim.api.nvim_win_get_buf(floating()))
  check("what is told", told:find("generation", 1, true), told)
  vim.api.nvim_win_close(floating(), true)

  -- Definition leads to a file that is not open.
  go("tide-a 1 pack")
  vim.lsp.buf.definition()
  await("the definition", function() return vim.fn.expand("%:t") == "yeast.barm" end)
  check("its line", vim.fn.getline("."):find("culture tide-a", 1, true), vim.fn.getline("."))

  -- A slip of the pen, mended by an action; findings go away with it.
  vim.cmd("buffer " .. spring)
  go("bottle 18 L")
  vim.cmd("normal! cebottel")
  await("the slip is found", function() return found(spring, "unknown-word") end)
  go("bottel")
  act("`bottle`")
  await("the slip is mended", function() return text(spring):find("bottle 18 L", 1, true) end)
  await("nothing is found of it", function() return not found(spring, "unknown-word") end)

  -- A question, answered by an action.
  go("90 g sucrose")
  vim.cmd("normal! c3E? sucrose for 2.2 vol")
  await("the question is told", function() return found(spring, "open-question") end)
  go("? sucrose")
  act("write `")
  await("the answer is written", function() return text(spring):find("L, %d+ g sucrose for 2.2 vol") end)

  -- Format.
  local program = (vim.g.barm_command or { "barm" })[1]
  go("20 L at 1.043")
  vim.cmd("normal! ccwort 20 L   at   1.043")
  local wanted = vim.fn.system({ program, "fmt", "-" }, text(spring) .. "\n")
  if vim.lsp.buf.format then vim.lsp.buf.format({ timeout_ms = TOO_LONG }) else vim.lsp.buf.formatting_sync(nil, TOO_LONG) end
  check("it is set as the command line sets it", text(spring) .. "\n" == wanted, text(spring))
  check("and was not before", not text(spring):find("20 L   at", 1, true))

  -- Rename, in two files.
  go("tide-a 1 pack")
  vim.lsp.buf.rename("ebb-a")
  await("the name is another here", function() return text(spring):find("pitch ebb-a 1 pack", 1, true) end)
  vim.cmd("silent wall")
  check("and in the other file", on_disk("yeast.barm"):find("culture ebb-a of", 1, true), on_disk("yeast.barm"))
  check("and nowhere as it was", not (on_disk("yeast.barm") .. on_disk("ales/spring.barm")):find("tide-a", 1, true))
  await("nothing is amiss after it", function() return found(spring, "stale-culture") and not found(spring, "unknown-name") end)

  -- Completion: CTRL-X CTRL-O asks this.
  check("completion is set up", vim.bo.omnifunc:find("vim.lsp.omnifunc", 1, true), vim.bo.omnifunc)
  vim.fn.append("$", "  in b")
  vim.fn.cursor(vim.fn.line("$"), 6)
  local vessels
  vim.lsp.buf_request(spring, "textDocument/completion", vim.lsp.util.make_position_params(0, client.offset_encoding), function(_, result)
    vessels = vim.inspect(result)
  end)
  await("completion is answered", function() return vessels end)
  check("with the vessels that there are", vessels:find("bucket-2", 1, true), vessels)

  if modern then
    await("hints", function() return #vim.lsp.inlay_hint.get({ bufnr = spring }) > 10 end)
    await("colours", function()
      local tokens = vim.lsp.semantic_tokens.get_at_pos(spring, 2, 1)
      return tokens and tokens[1] and tokens[1].type == "keyword"
    end)
  end

  for _, each in ipairs(clients()) do each.stop(each) end
  await("the server ends when it is told", function() return #clients() == 0 end)
  check("nothing of the workspace was run", vim.fn.filereadable("was-run") == 0)
end

local good, why = xpcall(main, debug.traceback)
if not good then say("FAILED in Neovim " .. version.major .. "." .. version.minor .. ": " .. why) end
vim.cmd(good and "qall!" or "cquit 1")
