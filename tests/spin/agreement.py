"""The abstract addressing protocol by Spin, by our explorer and by the search that anybody would write first.

  agreement.py agree EXPLORE_ADDRESSING            do all three count the same states and find ways of the same length?
  agreement.py compare EXPLORE_ADDRESSING [--json] how fast and how small each is, on several million states

EXPLORE_ADDRESSING is the program built from explore_addressing.cpp.
"""
import argparse
import concurrent.futures
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
from typing import NamedTuple

MODEL = pathlib.Path(__file__).resolve().parent / "addressing.pml"
PROPERTIES = ("unsound", "shared", "installed")  # what must never come about


class Size(NamedTuple):
    plates: int
    modules: int
    channels: int
    losses: int

    def __str__(self):
        return f"{self.plates}x{self.modules}, {self.channels} channels, {self.losses} losses"


class Search(NamedTuple):
    """What a search came to. steps: of the shortest way to what must never come about; 0: there is none."""
    states: int
    steps: int
    cpu_s: float
    bytes: int

    @property
    def rate(self):
        return self.states / self.cpu_s

    @property
    def bytes_per_state(self):
        return self.bytes / self.states


AGREEING = (Size(1, 2, 2, 0), Size(2, 2, 2, 1), Size(1, 3, 3, 1), Size(2, 3, 2, 0), Size(1, 4, 2, 2))
COMPARED = Size(2, 4, 2, 0)


def fail(message):
    sys.exit(f"agreement.py: {message}")


def run_timed(command, folder=None):
    """Runs a command to its end; gives what it printed and the CPU seconds that it took."""
    with tempfile.TemporaryFile("w+") as out:
        process = subprocess.Popen(command, cwd=folder, stdout=out, stderr=subprocess.STDOUT)
        _, status, usage = os.wait4(process.pid, 0)
        out.seek(0)
        text = out.read()
    if status != 0:
        fail(f"{' '.join(map(str, command))}: {text}")
    return text, usage.ru_utime + usage.ru_stime


def explore(program, how, never, size):
    """`how`: ours or plain."""
    text, cpu_s = run_timed([program, how, never, *map(str, size)])
    told = dict(line.split() for line in text.splitlines())
    return Search(int(told["states"]), int(told["steps"]), cpu_s, int(told["bytes"]))


def verifier(folder, never, size, options):
    """Spin's program for one property, compiled with exhaustive storage."""
    defines = [f"-D{name.upper()}={value}" for name, value in size._asdict().items()]
    calls = (["spin", "-a", *defines, f"-DNEVER_{never.upper()}", str(MODEL)],
             ["gcc", "-O2", "-w", "-DSAFETY", "-DNOREDUCE", "-DNOBOUNDCHECK", *options, "-o", "pan", "pan.c"])
    for call in calls:
        done = subprocess.run(call, cwd=folder, capture_output=True, text=True)
        if done.returncode != 0:
            fail(f"{' '.join(call)}: {done.stdout}{done.stderr}")
    return folder / "pan"


def number(pattern, text):
    found = re.search(pattern, text, re.MULTILINE)
    if not found:
        fail(f"Spin's verifier does not say {pattern}:\n{text}")
    return float(found[1])


def spin(never, size, breadth_first):
    """Breadth first, its way to what must never come about is a shortest one; depth first it is faster."""
    with tempfile.TemporaryDirectory(prefix="drybus-spin-") as name:
        folder = pathlib.Path(name)
        pan = verifier(folder, never, size, ["-DBFS"] if breadth_first else [])
        # Depth first it may go through every state on one way.
        text, cpu_s = run_timed([pan, "-m1000" if breadth_first else "-m10000000"], folder)
        if "max search depth too small" in text:
            fail(f"Spin did not go through all states of {size}")
        trail = folder / "addressing.pml.trail"
        steps = 0
        if trail.exists():
            steps = sum(1 for line in trail.read_text().splitlines() if not line.startswith("-"))
        if (steps > 0) != (number(r"errors: (\d+)$", text) > 0):
            fail(f"Spin's trail does not fit what it says:\n{text}")
        used = number(r"^\s*([\d.]+)\s+actual memory usage for states", text)
        return Search(int(number(r"^\s*(\d+) states, stored$", text)), steps, cpu_s, int(used * 2**20))


def agree(program):
    def search(case):
        size, never = case
        return (explore(program, "ours", never, size), explore(program, "plain", never, size),
                spin(never, size, breadth_first=True))

    cases = [(size, never) for size in AGREEING for never in PROPERTIES]
    print(f"{'plates x modules':<32} {'never':<10} {'states':>9} {'steps':>6}")
    # Most of the time goes into compiling Spin's verifiers.
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as workers:
        for (size, never), (ours, plain, theirs) in zip(cases, workers.map(search, cases)):
            print(f"{str(size):<32} {never:<10} {ours.states:>9} {ours.steps:>6}")
            # How many states were met before a way was found depends on the order of actions, and is nobody's concern.
            counted = [(each.steps, 0 if each.steps else each.states) for each in (ours, plain, theirs)]
            if len(set(counted)) != 1:
                fail(f"{size}, {never}: ours, plain and Spin disagree: {ours} {plain} {theirs}")
    print(f"Spin, our explorer and a plain search agree on {len(AGREEING)} sizes and {len(PROPERTIES)} properties.")


def compare(program, as_json):
    searches = {"ours": explore(program, "ours", "unsound", COMPARED),
                "spin": spin("unsound", COMPARED, breadth_first=False),
                "plain": explore(program, "plain", "unsound", COMPARED)}
    if len({search.states for search in searches.values()}) != 1:
        fail(f"{COMPARED}: the searches disagree: {searches}")
    if as_json:
        figures = {f"{name}_{figure}": value for name, search in searches.items()
                   for figure, value in (("states_per_s", search.rate), ("bytes_per_state", search.bytes_per_state))}
        print(json.dumps({"states": searches["ours"].states, **figures}))
        return
    print(f"{COMPARED}: {searches['ours'].states} states\n{'':<8} {'states/s':>12} {'bytes/state':>12}")
    for name, search in searches.items():
        print(f"{name:<8} {search.rate:>12.0f} {search.bytes_per_state:>12.1f}")
    print("per second of CPU time; Spin's bytes are what it says of its states, without its hash table and stack")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=("agree", "compare"))
    parser.add_argument("program", type=os.path.abspath)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    missing = [tool for tool in ("spin", "gcc") if shutil.which(tool) is None]
    if missing:
        fail(f"not installed: {', '.join(missing)}; tools/packages names the packages")
    if options.what == "agree":
        agree(options.program)
    else:
        compare(options.program, options.json)


main()
