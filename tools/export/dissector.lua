-- Shows the telegrams of a drybus capture in Wireshark and tshark:
--
--     tshark -X lua_script:tools/export/dissector.lua -r run.pcapng
--
-- or copy this file into Wireshark's personal plug-in folder. The layout is told in tools/export/capture_format.h.
local drybus = Proto("drybus", "drybus telegram")

local kinds = {
  [1] = "beacon", [2] = "left", [3] = "identify", [4] = "assign", [5] = "on", [6] = "off",
  [7] = "recall", [8] = "store", [9] = "raise", [10] = "lower", [11] = "stop", [12] = "ask",
}
local with_channel = { [3] = true, [4] = true }
local with_scene = { [7] = true, [8] = true }
-- Of a command the channel's byte says whom it is for.
local is_command = { [5] = true, [6] = true, [7] = true, [8] = true, [9] = true, [10] = true, [11] = true }

local field = {
  version = ProtoField.uint8("drybus.version", "Header version"),
  collided = ProtoField.bool("drybus.collided", "Collided", 8, nil, 0x01),
  cut_short = ProtoField.bool("drybus.cut_short", "Cut short", 8, nil, 0x02),
  unfinished = ProtoField.bool("drybus.unfinished", "Run ended first", 8, nil, 0x04),
  sender = ProtoField.uint16("drybus.sender", "Sender's node"),
  length = ProtoField.uint16("drybus.length", "Frame length"),
  sender_name = ProtoField.string("drybus.sender_name", "Sender"),
  kind = ProtoField.uint8("drybus.kind", "Kind", base.DEC, kinds),
  site = ProtoField.uint8("drybus.site", "Site"),
  zone = ProtoField.uint8("drybus.zone", "Zone"),
  channel = ProtoField.uint8("drybus.channel", "Channel"),
  argument = ProtoField.uint8("drybus.argument", "Argument"),
  crc = ProtoField.uint16("drybus.crc", "CRC-16/XMODEM", base.HEX),
  crc_fits = ProtoField.bool("drybus.crc_fits", "CRC fits"),
}
drybus.fields = field

local header_size, frame_size = 8, 7

local malformed = ProtoExpert.new("drybus.malformed", "Not a telegram of drybus", expert.group.MALFORMED,
                                  expert.severity.ERROR)
drybus.experts = { malformed }

-- Polynomial 0x1021, beginning with 0: without operators that only later versions of Lua have.
local function crc16(bytes)
  local crc = 0
  for i = 0, bytes:len() - 1 do
    crc = bit.bxor(crc, bit.lshift(bytes:get_index(i), 8))
    for _ = 1, 8 do
      crc = bit.lshift(crc, 1)
      if bit.band(crc, 0x10000) ~= 0 then crc = bit.bxor(crc, 0x11021) end
    end
  end
  return crc
end

local function whom(address, scope)
  if scope == 0 then return address end
  if scope == 1 then return address .. "'s group" end
  if scope == 2 then return "all of site " .. string.match(address, "^%d+") end
  return string.format("%s (unknown scope %d)", address, scope)
end

local function in_words(kind, address, channel, argument)
  local name = kinds[kind] or string.format("unknown kind %d", kind)
  if with_channel[kind] then return string.format("%s %s/%d", name, address, channel) end
  if is_command[kind] then address = whom(address, channel) end
  if with_scene[kind] then return string.format("%s scene %d in %s", name, argument, address) end
  return name .. " " .. address
end

local function dissect_frame(buffer, tree)
  local kind, site, zone = buffer(0, 1), buffer(1, 1), buffer(2, 1)
  local channel, argument, crc = buffer(3, 1), buffer(4, 1), buffer(5, 2)
  tree:add(field.kind, kind)
  tree:add(field.site, site)
  tree:add(field.zone, zone)
  tree:add(field.channel, channel)
  tree:add(field.argument, argument)
  tree:add(field.crc, crc)
  tree:add(field.crc_fits, crc, crc16(buffer(0, 5):bytes()) == crc:uint()):set_generated()
  local address = string.format("%d/%d", site:uint(), zone:uint())
  return in_words(kind:uint(), address, channel:uint(), argument:uint()), address
end

function drybus.dissector(buffer, packet, tree)
  packet.cols.protocol = "drybus"
  local branch = tree:add(drybus, buffer())
  if buffer:len() < header_size or buffer(0, 1):uint() ~= 1 then
    branch:add_proto_expert_info(malformed, "Unknown header")
    return
  end
  local length, name_length = buffer(4, 2):uint(), buffer(6, 2):uint()
  branch:add(field.version, buffer(0, 1))
  branch:add(field.collided, buffer(1, 1))
  branch:add(field.cut_short, buffer(1, 1))
  branch:add(field.unfinished, buffer(1, 1))
  branch:add(field.sender, buffer(2, 2))
  branch:add(field.length, buffer(4, 2))
  if buffer:len() ~= header_size + name_length + length or length ~= frame_size then
    branch:add_proto_expert_info(malformed, "The lengths do not fit")
    return
  end
  local sender = ""
  if name_length > 0 then
    sender = buffer(header_size, name_length):string(ENC_UTF_8)
    branch:add(field.sender_name, buffer(header_size, name_length), sender)
  end
  local words, address = dissect_frame(buffer(header_size + name_length, length):tvb(), branch)
  packet.cols.src = sender
  packet.cols.dst = address
  packet.cols.info = words .. (bit.band(buffer(1, 1):uint(), 1) ~= 0 and " (collided)" or "")
  branch:append_text(": " .. words)
end

DissectorTable.get("wtap_encap"):add(wtap.USER0, drybus)
