"""A device at the other end of `drybus bridge`, written from tools/bridge/message.h and RFC 1055 alone: shares no code with
what it talks to."""
import json
import os
import select
import socket
import struct

END, ESC, ESC_END, ESC_ESC = 0o300, 0o333, 0o334, 0o335


def slip(packet):
    out = bytearray([END])
    for byte in packet:
        out += {END: bytes([ESC, ESC_END]), ESC: bytes([ESC, ESC_ESC])}.get(byte, bytes([byte]))
    return bytes(out + bytes([END]))


def unslip(stream):
    """Packets out of a stream's bytes; what is left of the last one."""
    parts = stream.split(bytes([END]))
    packets = [p.replace(bytes([ESC, ESC_END]), bytes([END])).replace(bytes([ESC, ESC_ESC]), bytes([ESC])) for p in parts]
    return [p for p in packets[:-1] if p], parts[-1]


def crc(data):
    """CRC-16/XMODEM: polynomial 0x1021, start 0."""
    value = 0
    for byte in data:
        value ^= byte << 8
        for _ in range(8):
            value = (value << 1 ^ 0x1021 if value & 0x8000 else value << 1) & 0xffff
    return value


class Line:
    """Bytes to and from a file descriptor: a socket or the master of a pseudo-terminal."""

    def __init__(self, fd):
        self.fd, self.rest, self.open = fd, b"", True

    def write(self, data):
        try:
            while data:
                data = data[os.write(self.fd, data):]
        except OSError:
            self.open = False

    def read(self, timeout=240.0):
        if not select.select([self.fd], [], [], timeout)[0]:
            raise TimeoutError("the bridge says nothing")
        try:
            data = os.read(self.fd, 65536)
        except OSError:
            data = b""
        if not data:
            self.open = False
        return data


class Packets(Line):
    """SLIP both ways. Messages are (type, time, rest)."""

    def send(self, kind, at, rest=b""):
        self.write(slip(kind.encode() + struct.pack(">Q", at) + rest))

    def receive(self):
        while self.open:
            packets, self.rest = unslip(self.rest + self.read())
            for packet in packets:
                yield chr(packet[0]), struct.unpack(">Q", packet[1:9])[0], packet[9:]


class Lines(Line):
    """JSON Lines both ways."""

    def send(self, **message):
        self.write((json.dumps(message) + "\n").encode())

    def receive(self):
        while self.open:
            *lines, self.rest = (self.rest + self.read()).split(b"\n")
            for line in lines:
                yield json.loads(line)


def connected(where, kind):
    """`where` as drybus tells it: unix:PATH or tcp:HOST:PORT."""
    if where.startswith("unix:"):
        s = socket.socket(socket.AF_UNIX)
        s.connect(where[5:])
    else:
        host, port = where[4:].rsplit(":", 1)
        s = socket.create_connection((host, int(port)))
    return kind(s.detach())
