"""The line of every IEC 62386 scenario that ships, as real half-bits, read by sigrok's decoder for this bus."""
import glob
import json
import os
import re
import subprocess

from readers import SOURCE, check, drybus, folder, need

need("sigrok-cli")

# Its decoder for this bus, as `sigrok-cli -L` lists it. It knows forward frames of 16 bits and answers of 8.
DECODER = "dali"
# The dump is in microseconds; a half-bit is 417 of them. Ten at a time are enough, and idle time is cut short.
INPUT = "vcd:downsample=10:compress=3000"


def decoded(path, line):
    """What the decoder reads: [(bits, data)]."""
    out = subprocess.run(["sigrok-cli", "-I", INPUT, "-i", path, "-P", f"{DECODER}:{DECODER}={line}", "-A", f"{DECODER}=raw"],
                         check=True, capture_output=True, text=True, timeout=900).stdout
    frames, half = [], None
    for what, value in re.findall(r": (Startbit|Raw data|Reply): (\w+)", out):
        if what == "Startbit":
            check(half is None, "a frame of one byte only")
        elif what == "Reply":
            frames.append((8, int(value, 16)))
        elif half is None:
            half = int(value, 16)
        else:
            frames.append((16, half << 8 | int(value, 16)))
            half = None
    return frames


def told(run, line):
    """What drybus says was on the line, in order of time; None for what nobody could read."""
    frames = [frame for frame in run["frames"] if frame["line"] == line]
    return [None if frame["garbled"] else (frame["bits"], frame["data"])
            for frame in sorted(frames, key=lambda frame: frame["at_s"])]


def pairs(ours, theirs, name):
    """Frame by frame. Of answers that garbled one another the decoder, which is less strict, may read a byte."""
    theirs = iter(theirs)
    after_garbled = False
    for frame in ours:
        if frame is None:
            after_garbled = True
            continue
        other = next(theirs, None)
        while after_garbled and other is not None and other[0] == 8 and frame[0] != 8:
            other = next(theirs, None)
        after_garbled = False
        yield frame, other
    check(all(bits == 8 and after_garbled for bits, _ in theirs), f"{name}: more was decoded than was sent")


scenarios = sorted(glob.glob(os.path.join(SOURCE, "scenarios", "iec-62386", "*.yaml")))
check(len(scenarios) >= 20, f"{len(scenarios)} scenarios")
whole, answers = 0, 0
with folder() as here:
    for scenario in scenarios:
        path = os.path.join(here, "line.vcd")
        run = json.loads(drybus("run", scenario, "--format", "json", "--vcd", path, codes=(0, 1)))
        for line in sorted({frame["line"] for frame in run["frames"]}):
            ours = told(run, line)
            theirs = decoded(path, line)
            name = os.path.basename(scenario)
            for number, (a, b) in enumerate(pairs(ours, theirs, name)):
                check(a == b, f"{name}: frame {number} on {line} is {a}, decoded {b}")
                whole += 1
                answers += a[0] == 8
check(whole > 5000 and answers > 500, f"{whole} frames, {answers} answers")
print(f"{len(scenarios)} scenarios, {whole} frames, {answers} of them answers: all decoded alike")
