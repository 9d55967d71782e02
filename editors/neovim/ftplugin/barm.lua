-- Starts the server for a log. The program is `barm` on PATH, or what *you* set in `vim.g.barm_command`; nothing in a
-- workspace can choose it.
vim.bo.commentstring = "# %s"

local buffer = vim.api.nvim_get_current_buf()
local name = vim.api.nvim_buf_get_name(buffer)
local command = vim.g.barm_command or { "barm", "serve" }
if name == "" or vim.fn.executable(command[1]) == 0 then return end

-- The workspace is the nearest folder at or above the log that holds a barm.toml, else a .git, else the log's own.
local function root_of(path)
  local folder = vim.fn.fnamemodify(path, ":p:h")
  for _, mark in ipairs({ "barm.toml", ".git" }) do
    local found = vim.fn.findfile(mark, folder .. ";")
    if found == "" then found = vim.fn.finddir(mark, folder .. ";") end
    if found ~= "" then return vim.fn.fnamemodify(found, ":p:h" .. (vim.fn.isdirectory(found) == 1 and ":h" or "")) end
  end
  return folder
end

local root = root_of(name)
local config = { name = "barm", cmd = command, root_dir = root }
if vim.lsp.start then
  vim.lsp.start(config, { bufnr = buffer })
else
  -- Neovim 0.7 starts a client by hand: one for each workspace.
  barm_clients = barm_clients or {}
  if not barm_clients[root] then
    config.workspace_folders = { { uri = vim.uri_from_fname(root), name = root } }
    barm_clients[root] = vim.lsp.start_client(config)
  end
  vim.lsp.buf_attach_client(buffer, barm_clients[root])
end
