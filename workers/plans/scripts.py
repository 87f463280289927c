"""What the store does in Redis in one piece each: Lua, which compares before it sets."""

from __future__ import annotations

from workers import PREFIX
from workers.notices import CHANGED, NEWS
from workers.plans.index import ENTER
from workers.rack.scripts import RACK

# Every script takes the plan's hash, the set of plans waiting and the set of plans running; scores are seconds on
# Redis's own clock, so hosts whose clocks differ agree on when a lease has expired.

CREATE = ENTER + """
-- KEYS: plan, waiting, tombstone, idempotency key or '', index, serial numbers, the client's own that wait
-- ARGV: id, fingerprint, seconds a key is kept, seconds a tombstone is kept, client, beginning of a plan's key,
--       words to find it by, the deed, how many of a client's plans may wait or 0, field, value, ...
local function leave_out(first, last)
  for _, id in ipairs(redis.call('ZRANGE', KEYS[7], first, last)) do
    if not redis.call('ZSCORE', KEYS[2], id) then redis.call('ZREM', KEYS[7], id) end
  end
end
if KEYS[4] ~= '' then
  local known = redis.call('HMGET', KEYS[4], 'id', 'fingerprint')
  if known[1] and known[2] and redis.call('EXISTS', ARGV[6] .. known[1]) == 1 then return known end
end
local most = tonumber(ARGV[9])
if most > 0 then
  if redis.call('TYPE', KEYS[7]).ok ~= 'zset' then redis.call('DEL', KEYS[7]) end
  leave_out(0, 9)
  if redis.call('ZCARD', KEYS[7]) >= most then leave_out(0, -1) end
  if redis.call('ZCARD', KEYS[7]) >= most then return {'', ARGV[2]} end
end
if KEYS[4] ~= '' then
  redis.call('HSET', KEYS[4], 'id', ARGV[1], 'fingerprint', ARGV[2])
  redis.call('EXPIRE', KEYS[4], ARGV[3])
end
redis.call('SET', KEYS[3], ARGV[5], 'EX', ARGV[4])
local now = redis.call('TIME')
redis.call('ZADD', KEYS[2], now[1] + now[2] / 1000000, ARGV[1])
if most > 0 then
  redis.call('ZADD', KEYS[7], now[1] + now[2] / 1000000, ARGV[1])
  redis.call('EXPIRE', KEYS[7], ARGV[3])
end
local created = now[1] .. '.' .. string.format('%06d', now[2])
local serial = redis.call('INCR', KEYS[6])
redis.call('HSET', KEYS[1], 'created_at', created, 'serial', serial, 'history', created .. ' ' .. ARGV[8],
  'index', enter(KEYS[5], ARGV[7], ARGV[5], serial, created, ARGV[1]), unpack(ARGV, 10))
return {ARGV[1], ARGV[2]}
"""
"""Keep a new plan, unless its idempotency key already names one; returns the id and fingerprint that stand.

The id is empty where too many of the client's plans wait already. Which are its own is kept as they come; what waits no
more is left out by and by, and all of it before anything is refused.
"""

CALLBACKS = PREFIX + "callbacks"
"""Plans that are over and whose callback is still to be made, by when that is due."""
_TELL = f"""
local function tell_changed(id) redis.call('PUBLISH', '{NEWS}', id .. '{CHANGED}') end
local function tell(id, plan)
  local callback = redis.call('HGET', plan, 'callback')
  if callback and callback ~= '' then redis.pcall('ZADD', '{CALLBACKS}', redis.call('TIME')[1], id) end
  redis.call('PUBLISH', '{NEWS}', id)
  tell_changed(id)
end
"""
MOVE = RACK + _TELL + """
local function called_off(plan)
  local read, known = pcall(cjson.decode, redis.call('HGET', plan, 'particulars') or '')
  return read and type(known) == 'table' and known.called_off == true
end
-- KEYS: plan, waiting, running, totals, leaving, rack
-- ARGV: id, from state, generation, to state, lease seconds, time field or '', seconds to keep or '0',
--       '1' to move it only if its lease has expired, what to hold on the rack as JSON or '', field, value, ...
local now = redis.call('TIME')
now = now[1] + now[2] / 1000000
local kept = redis.call('HMGET', KEYS[1], 'state', 'generation')
if kept[1] ~= ARGV[2] or kept[2] ~= ARGV[3] then return 0 end
local lease = redis.call('ZSCORE', KEYS[3], ARGV[1])
if ARGV[8] == '1' and lease and tonumber(lease) > now then return 0 end
if ARGV[9] ~= '' then
  local asked = cjson.decode(ARGV[9])
  if called_off(KEYS[1]) then asked.wanted = {} end
  local short = hold(KEYS[6], KEYS[1], asked.by, asked.replaced, asked.wanted, asked.before)
  if #short > 0 then return short end
  if redis.call('EXISTS', asked.replaced) == 1 then
    redis.call('HSET', asked.replaced, 'replaced_by', asked.number)
    redis.call('HINCRBY', asked.replaced, 'version', 1)
  end
end
redis.call('ZREM', KEYS[2], ARGV[1])
redis.call('ZREM', KEYS[3], ARGV[1])
if ARGV[4] == 'queued' then redis.call('ZADD', KEYS[2], now, ARGV[1]) end
if ARGV[4] == 'running' then redis.call('ZADD', KEYS[3], now + ARGV[5], ARGV[1]) end
redis.call('HSET', KEYS[1], 'state', ARGV[4], unpack(ARGV, 10))
redis.call('HINCRBY', KEYS[1], 'version', 1)
if ARGV[6] ~= '' then redis.call('HSET', KEYS[1], ARGV[6], string.format('%.6f', now)) end
if ARGV[7] ~= '0' then
  redis.call('HSET', KEYS[1], 'expires_at', string.format('%.6f', now + ARGV[7]))
  redis.call('EXPIRE', KEYS[1], ARGV[7])
  redis.call('HINCRBY', KEYS[4], ARGV[4], 1)
  local entries = redis.call('HGET', KEYS[1], 'index')
  if entries then redis.call('ZADD', KEYS[5], now + ARGV[7], entries) end
  tell(ARGV[1], KEYS[1])
else
  tell_changed(ARGV[1])
end
return 1
"""
"""Compare and set: change a plan's state if it is still in the state and generation the caller believes.

A plan that ends holds what it uses of the rack in the same piece, but for one that is called off: where there is too
little of it, nothing is done and the labels are returned of which there is.
"""

BEAT = _TELL + """
-- KEYS: plan, waiting, running
-- ARGV: id, generation, lease seconds, cost, bound, phase
local kept = redis.call('HMGET', KEYS[1], 'state', 'generation', 'cancel', 'cost', 'bound', 'phase')
if kept[1] ~= 'running' or kept[2] ~= ARGV[2] then return 'lost' end
local now = redis.call('TIME')
redis.call('ZADD', KEYS[3], now[1] + now[2] / 1000000 + ARGV[3], ARGV[1])
if ARGV[4] ~= '' and (kept[4] ~= ARGV[4] or kept[5] ~= ARGV[5] or kept[6] ~= ARGV[6]) then
  redis.call('HSET', KEYS[1], 'cost', ARGV[4], 'bound', ARGV[5], 'phase', ARGV[6])
  redis.call('HINCRBY', KEYS[1], 'version', 1)
  tell_changed(ARGV[1])
end
if kept[3] == '1' then return 'cancel' end
return 'go on'
"""
"""Renew the lease of whoever plans this, keep the progress, and tell whether to go on."""

CANCEL = """
-- KEYS: plan
if redis.call('HGET', KEYS[1], 'state') ~= 'running' then return 0 end
redis.call('HSET', KEYS[1], 'cancel', '1')
return 1
"""
"""Ask whoever runs this plan to stop; heard at the next beat."""

FORGET = ENTER + """
-- KEYS: plan, tombstone, index, leaving
local state = redis.call('HGET', KEYS[1], 'state')
if not state or state == 'queued' or state == 'running' then return 0 end
local entries = redis.call('HGET', KEYS[1], 'index')
leave(KEYS[3], entries)
if entries then redis.call('ZREM', KEYS[4], entries) end
redis.call('DEL', KEYS[1], KEYS[2])
return 1
"""
"""Remove a plan that is over, and every trace of it."""

BURY = _TELL + """
-- KEYS: plan, waiting, running, totals, leaving, tombstone
-- ARGV: id, seconds to keep, failure code, failure detail
redis.call('ZREM', KEYS[2], ARGV[1])
redis.call('ZREM', KEYS[3], ARGV[1])
local kind = redis.call('TYPE', KEYS[1]).ok
if kind == 'none' then return 0 end
if kind ~= 'hash' then
  redis.call('DEL', KEYS[1])
  redis.call('HSET', KEYS[1], 'created_at', redis.call('TIME')[1])
end
local owner = redis.call('HGET', KEYS[1], 'client')
if not owner or owner == '' then
  owner = redis.call('TYPE', KEYS[6]).ok == 'string' and redis.call('GET', KEYS[6])
  if owner then redis.call('HSET', KEYS[1], 'client', owner) end
end
local state = redis.call('HGET', KEYS[1], 'state')
if state == 'succeeded' or state == 'failed' or state == 'cancelled' then return 0 end
local now = redis.call('TIME')
now = now[1] + now[2] / 1000000
local version = (tonumber(redis.call('HGET', KEYS[1], 'version')) or 0) + 1
redis.call('HDEL', KEYS[1], 'cost', 'bound')
redis.call('HSET', KEYS[1], 'state', 'failed', 'failure_code', ARGV[3], 'failure_detail', ARGV[4],
  'version', string.format('%.0f', version), 'finished_at', string.format('%.6f', now),
  'expires_at', string.format('%.6f', now + ARGV[2]))
redis.call('EXPIRE', KEYS[1], ARGV[2])
redis.call('HINCRBY', KEYS[4], 'failed', 1)
local entries = redis.call('HGET', KEYS[1], 'index')
if entries then redis.call('ZADD', KEYS[5], now + ARGV[2], entries) end
tell(ARGV[1], KEYS[1])
return 1
"""
"""End a plan as failed whatever else its record says, for nobody can read it; one that is over is left as it is."""

NOTE = """
-- KEYS: plan
-- ARGV: the deed, characters of history to keep
local history = redis.call('HGET', KEYS[1], 'history')
if not history then return 0 end
local now = redis.call('TIME')
history = history .. '\\n' .. now[1] .. '.' .. string.format('%06d', now[2]) .. ' ' .. ARGV[1]
while #history > tonumber(ARGV[2]) do history = history:sub(history:find('\\n', 1, true) + 1) end
redis.call('HSET', KEYS[1], 'history', history)
redis.call('HINCRBY', KEYS[1], 'version', 1)
return 1
"""
"""Write a deed behind those before it; of a history beyond all measure the oldest are dropped."""

AMEND = ENTER + """
-- KEYS: plan, index, leaving
-- ARGV: id, version, client, words to find it by, particulars
local kept = redis.call('HMGET', KEYS[1], 'version', 'serial', 'created_at', 'index')
if kept[1] ~= ARGV[2] or not kept[2] then return 0 end
leave(KEYS[2], kept[4])
local entries = enter(KEYS[2], ARGV[4], ARGV[3], kept[2], kept[3], ARGV[1])
local due = redis.call('ZSCORE', KEYS[3], kept[4])
if due then
  redis.call('ZREM', KEYS[3], kept[4])
  redis.call('ZADD', KEYS[3], due, entries)
end
redis.call('HSET', KEYS[1], 'particulars', ARGV[5], 'index', entries)
redis.call('HINCRBY', KEYS[1], 'version', 1)
return 1
"""
"""Compare and set: keep other particulars of a plan that is as the caller believes, and have it found by them."""
