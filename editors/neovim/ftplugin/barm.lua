-- Starts the server for a log. The program is `barm` on PATH, or what *you* set in `vim.g.barm_command`; nothing in a
-- workspace can choose it.
vim.bo.commentstring = "# %s"
vim.b.undo_ftplugin = "setlocal commentstring<"

local buffer = vim.api.nvim_get_current_buf()
local name = vim.api.nvim_buf_get_name(buffer)
local command = vim.g.barm_command or { "barm", "serve" }
if name == "" or vim.bo.buftype ~= "" then return end
if vim.fn.executable(command[1]) == 0 then
  vim.notify_once("barm: no program " .. command[1] .. "; see `vim.g.barm_command`", vim.log.levels.WARN)
  return
end

-- The workspace is the nearest folder at or above the log that holds a barm.toml, else a .git, else the log's own.
-- (Neovim's own search reads its path as a list, and a comma or space in it as an end.)
local function root_of(path)
  local own = vim.fn.fnamemodify(path, ":p:h")
  for _, mark in ipairs({ "barm.toml", ".git" }) do
    local folder, above = own, nil
    while folder ~= above do
      if vim.loop.fs_stat(folder .. "/" .. mark) then return folder end
      folder, above = vim.fn.fnamemodify(folder, ":h"), folder
    end
  end
  return own
end

local root = root_of(name)
local config = { name = "barm", cmd = command, root_dir = root }

-- Figures between the lines, where this Neovim can show them.
config.on_attach = function(_, attached)
  if vim.lsp.inlay_hint then vim.lsp.inlay_hint.enable(true, { bufnr = attached }) end
end

if vim.lsp.start then
  vim.lsp.start(config, { bufnr = buffer })
  return
end

-- Neovim 0.7 starts a client by hand, one for each workspace, and sets no completion.
vim.bo.omnifunc = "v:lua.vim.lsp.omnifunc"
barm_clients = barm_clients or {}
local running = barm_clients[root] and vim.lsp.get_client_by_id(barm_clients[root])
if not running then
  config.workspace_folders = { { uri = vim.uri_from_fname(root), name = root } }
  barm_clients[root] = vim.lsp.start_client(config)
end
if barm_clients[root] then vim.lsp.buf_attach_client(buffer, barm_clients[root]) end
