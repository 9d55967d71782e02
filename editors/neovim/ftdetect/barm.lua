-- Brewing logs end in `.barm`.
vim.api.nvim_create_autocmd({ "BufRead", "BufNewFile" }, {
  pattern = "*.barm",
  callback = function() vim.bo.filetype = "barm" end,
})
