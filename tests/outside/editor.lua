-- Opens a fleet in an editor without a screen, fixes a finding, completes and renames, and writes what came out. Run by
-- `tests/all/outside_editor.rs`: WALKAROUND is the program, FLEET a copy of the clean fleet.
local fleet = vim.env.FLEET

local function fail(message)
  io.stderr:write(message .. "\n")
  vim.cmd("cquit 1")
end

local function wait(what, condition)
  if not vim.wait(60000, condition, 20) then
    fail("waited in vain for " .. what)
  end
end

local function open(name)
  vim.cmd("edit " .. fleet .. "/" .. name)
  local buffer = vim.api.nvim_get_current_buf()
  vim.lsp.buf_attach_client(buffer, vim.g.walkaround)
  return buffer
end

local function ask(buffer, method, params)
  local answers = vim.lsp.buf_request_sync(buffer, method, params, 60000)
  local answer = answers and answers[vim.g.walkaround]
  if not answer or answer.err then
    fail(method .. ": " .. vim.inspect(answer))
  end
  return answer.result
end

local function encoding()
  return vim.lsp.get_client_by_id(vim.g.walkaround).offset_encoding
end

local id = vim.lsp.start_client({ name = "walkaround", cmd = { vim.env.WALKAROUND, "editor" }, root_dir = fleet })
if not id then
  fail("the server does not start")
end
vim.g.walkaround = id
local buffer = open("dunlin.rig")
wait("the server", function()
  return vim.lsp.get_client_by_id(id).initialized
end)

-- A slip: found, and mended by the first fix.
local function line_of(words)
  for number, line in ipairs(vim.api.nvim_buf_get_lines(buffer, 0, -1, false)) do
    if line:find(words, 1, true) then
      return number - 1, line
    end
  end
  fail("no line has " .. words)
end
local row, line = line_of("channel 9 finder = shoulder")
vim.api.nvim_buf_set_lines(buffer, row, row + 1, false, { (line:gsub("shoulder", "sholder")) })
wait("the slip to be found", function()
  for _, found in ipairs(vim.diagnostic.get(buffer)) do
    if found.code == "format/unknown-name" or (found.user_data and found.user_data.lsp.code == "format/unknown-name") then
      return true
    end
  end
end)
local column = #line - #"shoulder"
local here = { start = { line = row, character = column }, ["end"] = { line = row, character = column + 3 } }
local document = vim.lsp.util.make_text_document_params(buffer)
local fixes = ask(buffer, "textDocument/codeAction", {
  textDocument = document,
  range = here,
  context = { diagnostics = vim.lsp.diagnostic.get_line_diagnostics(buffer, row) },
})
local fixed = false
for _, fix in ipairs(fixes) do
  if fix.kind == "quickfix" and not fixed then
    vim.lsp.util.apply_workspace_edit(fix.edit, encoding())
    fixed = true
  end
end
local _, mended = line_of("channel 9 finder")
if mended ~= line then
  fail("not mended: " .. mended)
end
wait("the finding to go", function()
  return #vim.diagnostic.get(buffer) == 0
end)

-- A name completed.
local at, place = line_of("flown-at")
vim.api.nvim_buf_set_lines(buffer, at, at + 1, false, { "  flown-at " })
local offers = ask(buffer, "textDocument/completion", {
  textDocument = document,
  position = { line = at, character = #"  flown-at " },
})
local taken = false
for _, item in ipairs(offers.items) do
  if item.label == '"north spit"' then
    vim.lsp.util.apply_text_edits({ item.textEdit }, buffer, encoding())
    taken = true
  end
end
if not taken then
  fail("not offered: " .. vim.inspect(offers))
end
local _, completed = line_of("flown-at")
if completed ~= place then
  fail("not completed: " .. completed)
end

-- A control renamed over all files.
local handset = open("handset.rig")
buffer = handset
local control = line_of("switch left-front")
vim.api.nvim_win_set_cursor(0, { control + 1, #"  switch le" })
local edit = ask(handset, "textDocument/rename", vim.tbl_extend("force", vim.lsp.util.make_position_params(0, encoding()), { newName = "killer" }))
vim.lsp.util.apply_workspace_edit(edit, encoding())
vim.cmd("silent wall")

vim.lsp.stop_client(id)
wait("the server to end", function()
  return vim.lsp.client_is_stopped(id)
end)
vim.cmd("qall!")
