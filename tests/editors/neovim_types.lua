-- A brewer types a first log in Neovim, key by key and from an empty file: this Neovim types, and a second is typed into. Run by
-- test_neovim.py; ends with 0, or with 1 and what went wrong.
--
--     nvim --headless -u NORC -i NONE -n -c "luafile neovim_types.lua"
--
-- The variable NEOVIM_CONFIG names the folder editors/neovim.

local TOO_LONG = 60000
local CONFIG = "lua vim.opt.runtimepath:append(vim.env.NEOVIM_CONFIG)"
local brewer = vim.fn.jobstart(
  { vim.v.progpath, "--embed", "--headless", "-u", "NORC", "-i", "NONE", "-n", "--cmd", CONFIG },
  { rpc = true }
)

local function say(text) io.stderr:write(text .. "\n") end

local function ask(...) return vim.rpcrequest(brewer, ...) end

local function lua(code) return ask("nvim_exec_lua", code, {}) end

local function text() return table.concat(ask("nvim_buf_get_lines", 0, 0, -1, false), "\n") end

local function await(what, wanted, see)
  local seen
  local function holds()
    seen = see()
    return vim.deep_equal(seen, wanted)
  end
  if not vim.wait(TOO_LONG, holds, 10) then
    error(what .. "\nwanted: " .. vim.inspect(wanted) .. "\nseen: " .. vim.inspect(seen) .. "\nin\n" .. text(), 2)
  end
  say("ok: " .. what)
end

-- What one key sets going is begun before the next is struck.
local function type(keys)
  ask("nvim_input", keys)
  await("typed " .. keys, false, function() return ask("nvim_get_mode").blocking end)
end

-- The codes of what is found, each once. Cautions are no faults.
local function codes()
  return lua([[
    local codes = {}
    for _, each in ipairs(vim.diagnostic.get(0)) do codes[each.code] = true end
    codes.caution = nil
    return vim.fn.sort(vim.tbl_keys(codes))
  ]])
end

local function found(what, code)
  await(what, true, function() return vim.tbl_contains(codes(), code) end)
end

-- What the menu offers first.
local function offered(what, wanted)
  await(what, wanted, function()
    return vim.list_slice(lua("return vim.tbl_map(function(item) return item.abbr end, vim.fn.complete_info({ 'items' }).items)"), 1, #wanted)
  end)
end

-- Takes the nth thing that the menu offers.
local function take(nth) type(("<C-n>"):rep(nth) .. "<C-y>") end

-- What can be done where the cursor is: the first that is offered.
local function act()
  type("gra")
  await("a choice", "c", function() return ask("nvim_get_mode").mode end)
  type("1<CR>")
end

local function main()
  -- As the README of editors/neovim has it.
  lua([[
    vim.o.completeopt = "menuone,noselect,popup"
    vim.api.nvim_create_autocmd("LspAttach", {
      callback = function(event) vim.lsp.completion.enable(true, event.data.client_id, event.buf, { autotrigger = true }) end,
    })
    vim.cmd("edit first.barm")
  ]])
  await("a server", true, function() return lua("local client = vim.lsp.get_clients()[1]; return client ~= nil and client.initialized == true") end)
  -- A word begun, taken from the menu, its place filled in.
  type("istr")
  type("<C-x><C-o>")
  offered("a word that was begun", { "strain" })
  take(1)
  await("a snippet", "s", function() return ask("nvim_get_mode").mode end)
  type("tidemill-ale<CR>")
  -- The menu comes by itself after a space.
  type("kind ")
  offered("what kinds there are", { "ale", "lager", "wild", "bacteria" })
  take(1)
  type("<CR>range 17..20 ")
  offered("the units of a temperature", { "°C", "°F" })
  take(1)
  type("<CR><CR>culture tide-a of ")
  offered("the strains that there are", { "tidemill-ale" })
  take(1)
  type("<CR>pack 2 x 100 B<CR>made 2026-09-01<CR><CR>brew slack-1<CR>w")
  type("<C-x><C-o>")
  offered("a brew's own words", { "wort" })
  type("ort 21 L at 1,048")
  found("a comma for a point", "decimal-comma")
  type("<BS><BS><BS><BS>.048")
  await("nothing is amiss", {}, codes)
  type("<CR>on 2026-09-12 14:00 aerate ")
  offered("ways to aerate", { "shake", "splash", "air", "oxygen" })
  type("oxygen 60 s at 1 L/min<CR>14:20 pitch ")
  offered("the yeast that there is", { "tide-a" })
  take(1)
  type("<CR>on ")
  offered("the next day", { "2026-09-13", "2026-09-12" })
  take(1)
  type(" 8:15 temp 18,6 C, krausen ")
  offered("how the foam stands", { "none", "rising", "high", "fallen" })
  take(2)
  type("<CR>")
  found("a comma for a point once more", "decimal-comma")
  -- Mended where one is: by the action, chosen by its number.
  type("<Esc>?18,6<CR>")
  act()
  await("nothing is amiss again", {}, codes)
  type("Gion 2026-09-20 gravity 1.012<CR>on 2026-09-23 gravity 1.012<CR>10:00 bottel 19 L")
  found("a word that is none", "unknown-word")
  type("<Esc>?bottel<CR>")
  act()
  await("the word is another", nil, function() return text():match("bottel") end)
  type("A, 100 g sucrose<Esc>")
  await("nothing is amiss at the end", {}, codes)
  type(":lua vim.lsp.buf.format()<CR>:write<CR>")
  await("it is written", 1, function() return vim.fn.filereadable("first.barm") end)
end

local good, why = xpcall(main, debug.traceback)
if not good then say("FAILED: " .. why) end
vim.fn.jobstop(brewer)
vim.cmd(good and "qall!" or "cquit 1")
