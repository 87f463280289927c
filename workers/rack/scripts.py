"""What is done to the rack in one piece each: Lua, which compares before it sets.

An entry is JSON under its label: ``count`` pieces of ``length``, of which whoever holds some of them is in ``held``
by the key of its own record, with how many it holds and how many of those it has ``used``. A hold lives as long as
that record: no plan that expires or is forgotten need say so here.
"""

from __future__ import annotations

RACK = """
local function entry_of(rack, label)
  local kept = redis.call('HGET', rack, label)
  if not kept then return nil end
  local entry = cjson.decode(kept)
  for holder, hold in pairs(entry.held) do
    if redis.call('EXISTS', holder) == 0 then
      entry.count = entry.count - hold.used
      entry.held[holder] = nil
    end
  end
  return entry
end
local function keep(rack, label, entry)
  if entry.count > 0 then redis.call('HSET', rack, label, cjson.encode(entry))
  else redis.call('HDEL', rack, label) end
end
local function left(entry, holder, replaced)
  local count = entry.count
  for other, hold in pairs(entry.held) do
    if other == replaced and other ~= holder then count = count - hold.used
    elseif other ~= holder then count = count - hold.count end
  end
  return count
end
local function let_go(rack, holder, label)
  local entry = entry_of(rack, label)
  if not entry then return end
  local hold = entry.held[holder]
  if hold and hold.used > 0 then hold.count = hold.used else entry.held[holder] = nil end
  keep(rack, label, entry)
end
local function hold(rack, holder, by, replaced, wanted, before)
  local short, entries = {}, {}
  for label, count in pairs(wanted) do
    entries[label] = entry_of(rack, label)
    if not entries[label] or left(entries[label], holder, replaced) < count then short[#short + 1] = label end
  end
  if #short > 0 then return short end
  for _, label in ipairs(before) do
    let_go(rack, replaced, label)
    if not wanted[label] then let_go(rack, holder, label) end
  end
  for label, count in pairs(wanted) do
    local entry = entry_of(rack, label)
    local own = entry.held[holder]
    entry.held[holder] = {count = count, used = own and math.min(own.used, count) or 0, by = by}
    keep(rack, label, entry)
  end
  return short
end
"""
"""How entries are read, with the holds of what is gone settled, and held: ``replaced`` gives up what it holds."""

HOLD = RACK + """
-- KEYS: rack
-- ARGV: holder, in words who that is, whom it replaces or '', wanted as JSON, labels held before as JSON
return hold(KEYS[1], ARGV[1], ARGV[2], ARGV[3], cjson.decode(ARGV[4]), cjson.decode(ARGV[5]))
"""
"""Hold so many of each label wanted and no others, or none: returns the labels of which there are too few."""

SETTLE = RACK + """
-- KEYS: rack
-- ARGV: label, ...
for _, label in ipairs(ARGV) do
  local entry = entry_of(KEYS[1], label)
  if entry then keep(KEYS[1], label, entry) end
end
"""
"""Write down what the holds of plans that are gone came to."""

USED = RACK + """
-- KEYS: rack
-- ARGV: holder, then for each label: label, how many of it are used up by now
for n = 2, #ARGV, 2 do
  local entry = entry_of(KEYS[1], ARGV[n])
  local own = entry and entry.held[ARGV[1]]
  if own then
    own.used = math.min(tonumber(ARGV[n + 1]), own.count)
    keep(KEYS[1], ARGV[n], entry)
  end
end
"""
"""Note how many of what somebody holds are used up; fewer than before where that was a mistake."""

TAKE = RACK + """
-- KEYS: rack
-- ARGV: label, how many, or '' for all
local entry = entry_of(KEYS[1], ARGV[1])
if not entry then return -1 end
local count = left(entry, '', '')
local wanted = tonumber(ARGV[2])
if not wanted then
  wanted = entry.count
  for _, hold in pairs(entry.held) do wanted = wanted - hold.used end
end
if wanted > count then return count end
entry.count = entry.count - wanted
keep(KEYS[1], ARGV[1], entry)
return 'taken'
"""
"""Take pieces that nobody holds off the rack; returns ``taken``, or how many are free, or -1 without such a label."""

_NUMBER = """
local function next_number(rack, serials)
  while true do
    local label = 'R-' .. redis.call('INCR', serials)
    if redis.call('HEXISTS', rack, label) == 0 then return label end
  end
end
"""
GIVE = _NUMBER + """
-- KEYS: rack, serial numbers
-- ARGV: for each: label or '', entry as JSON
local labels = {}
for n = 1, #ARGV, 2 do
  local label, entry = ARGV[n], ARGV[n + 1]
  if label == '' or redis.call('HEXISTS', KEYS[1], label) == 1 then
    if label ~= '' then
      entry = cjson.decode(entry)
      entry.note = 'labelled ' .. label
      entry = cjson.encode(entry)
    end
    label = next_number(KEYS[1], KEYS[2])
  end
  redis.call('HSET', KEYS[1], label, entry)
  labels[#labels + 1] = label
end
return labels
"""
"""Put entries on the rack whatever lies there, and return their labels: the next number where something has it."""

ADD = RACK + _NUMBER + """
-- KEYS: rack, serial numbers, labels given by whoever brings them or ''
-- ARGV: most entries, record of whoever brings them or '', then for each: label or '', entry as JSON
local wanted, known = {}, {}
for n = 3, #ARGV, 2 do
  if ARGV[n] ~= '' then
    local given = KEYS[3] ~= '' and redis.call('SISMEMBER', KEYS[3], ARGV[n]) == 1
    if not given and redis.call('HEXISTS', KEYS[1], ARGV[n]) == 1 then known[#known + 1] = ARGV[n] end
    if not given then wanted[#wanted + 1] = n end
  else wanted[#wanted + 1] = n end
end
if #known > 0 then return {'known', known} end
if redis.call('HLEN', KEYS[1]) + #wanted > tonumber(ARGV[1]) then return {'full', {}} end
local labels = {}
for _, n in ipairs(wanted) do
  local label = ARGV[n] ~= '' and ARGV[n] or next_number(KEYS[1], KEYS[2])
  redis.call('HSET', KEYS[1], label, ARGV[n + 1])
  if KEYS[3] ~= '' then redis.call('SADD', KEYS[3], label) end
  labels[#labels + 1] = label
end
if KEYS[3] ~= '' and ARGV[2] ~= '' then
  local life = redis.call('PTTL', ARGV[2])
  if life > 0 then redis.call('PEXPIRE', KEYS[3], life) end
end
return {'added', labels}
"""
"""Put entries on the rack, all or none; what the same plan or week gave before is passed over."""
