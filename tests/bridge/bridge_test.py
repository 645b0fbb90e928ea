"""drybus bridge against an independent client over pseudo-terminals, sockets and TCP: python3 bridge_test.py DRYBUS SOURCE BARE_METAL"""
import json
import os
import pty
import shutil
import struct
import subprocess
import sys
import tempfile
import time
import tty

from client import Lines, Packets, connected, crc, slip

DRYBUS, SOURCE, BARE_METAL = sys.argv[1:4]
FOLDER = tempfile.mkdtemp()
ENVIRONMENT = {**os.environ, "DRYBUS_FAMILIES": SOURCE + "/scenarios/families"}

SITE = """drybus: 1
family: wired-keypad
seed: 5
site:
  plates:
    P1: {switches: {site: 23, zone: 4}}
  modules:
    M1: {intended: 23/4/1}
    M2: {intended: 23/4/2, stored: 23/4/2}
script:
"""
# M1 at the other end: takes an address, obeys.
SETUP = SITE + """  - press: M1 local
  - wait: 1s
  - expect: {M1.level: 100%}
  - hold: P1 set
    for: 2.7s
  - hold: M1 local
    for: 3.7s
  - expect: {M1.mode: setup, M1.indicator: blink}
  - press: P1 up
  - press: P1 accept
  - wait: 1s
  - expect: {M1.mode: normal, M1.address: 23/4/1}
  - press: P1 two
  - press: P1 down
  - wait: 2s
  - expect: {M1.level: 0%}
"""
SHORT = SITE + "  - press: P1 up\n  - wait: 2s\n  - press: P1 off\n  - wait: 2s\n"


def scenario(text, name="a.yaml"):
    path = os.path.join(FOLDER, name)
    with open(path, "w") as file:
        file.write(text)
    return path


class Bridge:
    """`drybus bridge` under way, and the client's end of the line."""

    def __init__(self, text, port, kind=Packets, device="M1", options=()):
        self.saved = os.path.join(FOLDER, "saved.yaml")
        if os.path.exists(self.saved):
            os.unlink(self.saved)
        master = self.end = None
        if port == "pty":
            master, slave = pty.openpty()
            tty.setraw(slave)
            port = os.ttyname(slave)
        command = [DRYBUS, "bridge", scenario(text), "--port", port, "--as", device, "--format", "json", "-o", self.saved,
                   *(["--lines"] if kind is Lines else []), *options]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=ENVIRONMENT)
        first = self.process.stderr.readline()
        assert " is at " in first, first
        self.where = first.split(" is at ")[1].strip()
        if master is not None:
            self.end = slave  # kept open, so that the line is there whoever has it open
            self.line = kind(master)
        elif kind is not None:
            self.line = connected(self.where, kind)

    def result(self):
        out, self.err = self.process.communicate(timeout=240)
        self.code = self.process.returncode
        if self.end is not None:
            os.close(self.end)
        assert out, self.err
        told = json.loads(out)
        # What was saved replays to the same digest without the port, whatever became of the device.
        again = subprocess.run([DRYBUS, "run", self.saved, "--format", "json"], capture_output=True, text=True, env=ENVIRONMENT)
        assert json.loads(again.stdout)["digest"] == told["digest"], (again.stdout, told)
        assert told["replays"], told
        return told


def answer_nothing(line):
    """A device that hears and does nothing, in lock-step."""
    heard = []
    for kind, at, rest in line.receive():
        if kind == "T":
            line.send("N", struct.unpack(">Q", rest)[0])
        elif kind == "B":
            break
        else:
            heard.append((kind, at, rest))
    return heard


def the_protocol_is_as_written(port):
    bridge = Bridge(SHORT, port)
    heard = answer_nothing(bridge.line)
    told = bridge.result()
    assert bridge.code == 0, bridge.err
    assert heard[0] == ("H", 0, bytes([1, 2, 1]) + b"M1"), heard[0]
    assert heard[1] == ("P", 0, b"\x01"), heard[1]
    frames = [rest for kind, _, rest in heard if kind == "F"]
    assert len(frames) == 2, heard
    assert all(len(frame) == 7 and crc(frame) == 0 for frame in frames), frames
    assert frames[1][:4] == bytes([6, 23, 4, 0]), frames  # off 23/4
    assert told["ended_early"] is None and told["acts"] == 0


def a_device_that_sends_is_heard(port, kind):
    """M2 learns of it as of any other: the client is a plate that says `on` at 1 s and shows that it did."""
    text = SITE + "  - wait: 3s\n  - expect: {M2.level: 100%, P1.indicator: blip}\n"
    bridge = Bridge(text, port, kind, "P1")
    sent = [(1_000_000_000, "F", bytes([5, 23, 4, 0, 0])), (1_000_000_000, "I", bytes([1]))]
    lines = [{"frame": "05 17 04 00 00"}, {"show": "blip"}]
    for message in bridge.line.receive():
        if kind is Lines:
            until = message.get("until_ns")
            if until is not None and sent and until >= sent[0][0]:
                bridge.line.send(t_ns=sent.pop(0)[0], **lines.pop(0))
            elif until is not None:
                bridge.line.send(nothing=True)
            elif "bye" in message:
                break
        else:
            name, _, rest = message
            if name == "B":
                break
            if name != "T":
                continue
            until = struct.unpack(">Q", rest)[0]
            if sent and until >= sent[0][0]:
                at, act, what = sent.pop(0)
                bridge.line.send(act, at, what)
            else:
                bridge.line.send("N", until)
    told = bridge.result()
    assert told["passed"] and told["acts"] == 2, (told, bridge.err)
    saved = open(bridge.saved).read()
    assert "outside:" in saved and "kind: on" in saved and "show: blip" in saved, saved
    return told["digest"]


def a_slow_device_is_exact():
    """The same device, once at once and once with a wait before every answer: one digest."""
    digests = set()
    for delay in (0, 0.002):
        bridge = Bridge(SHORT, "unix:" + os.path.join(FOLDER, "s"))
        for kind, at, rest in bridge.line.receive():
            if kind == "B":
                break
            if kind != "T":
                continue
            time.sleep(delay)
            until = struct.unpack(">Q", rest)[0]
            if at < 500_000_000 <= until:
                bridge.line.send("I", 500_000_000, bytes([3]))
            else:
                bridge.line.send("N", until)
        digests.add(bridge.result()["digest"])
    assert len(digests) == 1, digests


def a_microcontroller_takes_an_address():
    """The C99 example on a pseudo-terminal's and a socket's other end."""
    for port in ("unix:" + os.path.join(FOLDER, "u"), "pty"):
        if port == "pty":
            master, slave = pty.openpty()
            other, end = pty.openpty()
            for each in (slave, end, master, other):
                tty.setraw(each)
            # Two terminals, back to back.
            pump = subprocess.Popen([sys.executable, "-c", PUMP, str(master), str(other)], pass_fds=(master, other))
            bridge = Bridge(SETUP, os.ttyname(slave), None)
            board = subprocess.Popen([BARE_METAL, os.ttyname(end)])
        else:
            pump = None
            bridge = Bridge(SETUP, port, None)
            board = subprocess.Popen([BARE_METAL, bridge.where[5:]])
        told = bridge.result()
        if pump:
            pump.kill()
            pump.wait()
        board.kill()
        board.wait()
        assert told["passed"] and bridge.code == 0, (told, bridge.err, open(bridge.saved).read())
        assert told["acts"] >= 8, told


PUMP = """
import os, select, sys
a, b = int(sys.argv[1]), int(sys.argv[2])
while True:
    for fd in select.select([a, b], [], [])[0]:
        os.write(b if fd == a else a, os.read(fd, 4096))
"""


def real_time_keeps_pace():
    text = SITE + "  - wait: 1s\n  - expect: {M1.indicator: blink}\n"
    bridge = Bridge(text, "tcp:127.0.0.1:0", Lines, options=["--real-time"])
    begun = time.monotonic()
    for message in bridge.line.receive():
        if "power" in message:
            bridge.line.send(show="blink")
        if "bye" in message:
            break
    told = bridge.result()
    assert told["passed"] and told["acts"] == 1, (told, bridge.err)
    assert time.monotonic() - begun > 0.9, "it did not keep pace"


def wrong_devices_are_bounded_and_told():
    def told_of(bridge, says, code=1):
        told = bridge.result()
        assert bridge.code == code, (bridge.code, bridge.err)
        assert says in bridge.err + str(told["ended_early"]), (says, bridge.err, told)
        return told

    # dies
    bridge = Bridge(SHORT, "unix:" + os.path.join(FOLDER, "d"))
    next(bridge.line.receive())
    os.close(bridge.line.fd)
    told_of(bridge, "the device closed the line")
    # stalls
    bridge = Bridge(SHORT, "unix:" + os.path.join(FOLDER, "d"), options=["--patience", "200ms"])
    told_of(bridge, "did not answer within 0.2 s")
    # lies about time: before now, and after what it may
    for lie in (0, 10**18):
        bridge = Bridge(SHORT, "unix:" + os.path.join(FOLDER, "d"))
        for kind, at, rest in bridge.line.receive():
            if kind == "T":
                until = struct.unpack(">Q", rest)[0]
                bridge.line.send(*(("I", lie, b"\x01") if at > 0 else ("N", until)))
            if kind == "B":
                break
        told_of(bridge, "lies about time")
    # never lets time go on
    bridge = Bridge(SHORT, "unix:" + os.path.join(FOLDER, "d"))
    for kind, at, rest in bridge.line.receive():
        if kind == "T":
            bridge.line.send("I", at, b"\x01")
        if kind == "B":
            break
    told_of(bridge, "before time goes on")
    # says what cannot be read
    bridge = Bridge(SHORT, "unix:" + os.path.join(FOLDER, "d"))
    bridge.line.write(slip(b"?" * 40) + slip(b"x" * 5000) + bytes([0o333, 7, 0o300]) +
                      slip(b"F" + bytes(8) + bytes([99, 0, 0, 0, 0])) + slip(b"F" + bytes(8) + bytes([5, 0, 0, 0, 0, 1, 2])))
    answer_nothing(bridge.line)
    told = told_of(bridge, "a message is passed over", 0)
    assert told["unreadable"] == 5, told
    # floods, in real time
    bridge = Bridge(SHORT, "unix:" + os.path.join(FOLDER, "d"), options=["--real-time"])
    bridge.line.write(slip(b"I" + b"\xff" * 8 + b"\x01") * 3000)
    told_of(bridge, "more than 1000 messages in a second")
    # floods with rubbish
    bridge = Bridge(SHORT, "unix:" + os.path.join(FOLDER, "d"))
    bridge.line.write(os.urandom(200_000))
    told_of(bridge, "could not be read")
    # a load on a plate
    bridge = Bridge(SITE + "  - wait: 1s\n", "unix:" + os.path.join(FOLDER, "d"), device="P1")
    done = False
    for kind, at, rest in bridge.line.receive():
        if kind == "T":
            bridge.line.send(*(("N", struct.unpack(">Q", rest)[0]) if done else ("L", at, struct.pack(">HI", 500, 0))))
            done = True
        if kind == "B":
            break
    told_of(bridge, "a plate has no load", 0)


def usage_is_refused():
    def refused(arguments, says):
        ran = subprocess.run([DRYBUS, "bridge", scenario(SHORT), *arguments], capture_output=True, text=True, env=ENVIRONMENT)
        assert ran.returncode == 2 and says in ran.stderr, (arguments, ran)

    refused(["--as", "M1"], "--port says where the device is")
    refused(["--port", "pty"], "--as says which device")
    refused(["--port", "unix:x", "--as", "M7"], "the site has no such device")
    refused(["--port", "tcp:0.0.0.0:0", "--as", "M1"], "--from-anywhere allows that")
    refused(["--port", "tcp:nowhere", "--as", "M1"], "expected tcp:HOST:PORT")
    refused(["--port", "/nowhere", "--as", "M1"], "cannot be opened as a serial port")
    refused(["--port", "unix:" + scenario("x", "file"), "--as", "M1"], "something that is no socket lies there")
    refused(["--port", "tcp:127.0.0.1:0", "--as", "M1", "--wait", "100ms"], "nobody connected")


try:
    the_protocol_is_as_written("unix:" + os.path.join(FOLDER, "p"))
    the_protocol_is_as_written("pty")
    digests = {a_device_that_sends_is_heard(port, kind) for port in ("unix:" + os.path.join(FOLDER, "q"), "tcp:127.0.0.1:0", "pty")
               for kind in (Packets, Lines)}
    assert len(digests) == 1, digests
    a_slow_device_is_exact()
    a_microcontroller_takes_an_address()
    real_time_keeps_pace()
    wrong_devices_are_bounded_and_told()
    usage_is_refused()
    print("bridge: every device was taken as it was")
finally:
    shutil.rmtree(FOLDER)
