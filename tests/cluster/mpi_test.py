#!/usr/bin/env python3
"""drybus-mpi under mpirun on this machine: byte for byte what drybus says; a rank that is killed or stopped costs time, and nothing
else; ranks that cannot take part are told of.

usage: mpi_test.py DRYBUS DRYBUS-MPI SOURCE
"""
import os
import pathlib
import re
import signal
import subprocess
import sys
import tempfile
import time

DRYBUS, DRYBUS_MPI, SOURCE = (pathlib.Path(word).resolve() for word in sys.argv[1:4])
AS_ROOT = {"OMPI_ALLOW_RUN_AS_ROOT": "1", "OMPI_ALLOW_RUN_AS_ROOT_CONFIRM": "1"}
ENVIRONMENT = {**os.environ, **AS_ROOT, "OMPI_MCA_rmaps_base_oversubscribe": "1"}
SWEEP = ["sweep", "scenarios/training/first-steps.yaml", "--runs", "6000"]


def check(holds, what):
    if not holds:
        sys.exit(f"not so: {what}")


def ran(*command):
    return subprocess.run([str(word) for word in command], cwd=SOURCE, env=ENVIRONMENT, capture_output=True, text=True,
                          check=False, timeout=600)


def over_ranks(count, *words, options=()):
    return ran("mpirun", "-n", count, *options, DRYBUS_MPI, *words)


def same(words, count=2):
    alone, together = ran(DRYBUS, *words), over_ranks(count, *words)
    check(together.stdout == alone.stdout, f"{words} over {count} ranks says the same:\n{alone.stdout}\n{together.stdout}{together.stderr}")
    check(together.returncode == alone.returncode, f"{words} ends with {alone.returncode}: {together.returncode}")
    return together


def children_of(process):
    """The ranks of an mpirun."""
    found = []
    for path in pathlib.Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = path.read_text().rsplit(")", 1)[1].split()
        except (OSError, IndexError):
            continue
        if int(fields[1]) == process:
            found.append(int(path.parent.name))
    return sorted(found)


def rank_of(process):
    found = re.search(rb"OMPI_COMM_WORLD_RANK=(\d+)", pathlib.Path(f"/proc/{process}/environ").read_bytes())
    return int(found.group(1)) if found else -1


def is_alive(process):
    try:
        return pathlib.Path(f"/proc/{process}/stat").read_text().rsplit(")", 1)[1].split()[0] not in "ZX"
    except OSError:
        return False


def struck(how):
    """A sweep over three ranks, one of which gets a signal while it works."""
    with tempfile.TemporaryDirectory() as folder:
        log = pathlib.Path(folder) / "log"
        words = ["sweep", "scenarios/training/first-steps.yaml", "--runs", "40000"]
        job = subprocess.Popen(["mpirun", "-n", "3", "--enable-recovery", DRYBUS_MPI, "--patience", "1s", *words,
                                "--log", log, "--log-level", "debug"], cwd=SOURCE, env=ENVIRONMENT,
                               stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        until = time.monotonic() + 240
        while time.monotonic() < until and (not log.exists() or log.read_text().count("are done") < 6):
            time.sleep(0.005)
        victim = [process for process in children_of(job.pid) if rank_of(process) == 1]
        check(len(victim) == 1, f"rank 1 is there: {victim}")
        os.kill(victim[0], how)
        out, errors = job.communicate(timeout=600)
        check(not is_alive(victim[0]), "and nobody of it is left")
        check("rank 1 was not heard of" in errors, f"the loss is told:\n{errors}")
        check(out == ran(DRYBUS, *words).stdout, "and the result is the same")
        check(job.returncode in (0, 137), f"mpirun ended with {job.returncode}")


def main():
    same(SWEEP)
    same(SWEEP + ["--format", "json", "--seed", "5", "--no-slips"], 3)
    same(["sweep", "scenarios/training/first-steps.yaml", "--runs", "700", "--vary", "time_out=20s..60s/3"])
    same(SWEEP, 1)
    same(["check", "scenarios/training"])
    same(["check", "tests/data", "scenarios/regression", "--format", "json"])
    with tempfile.TemporaryDirectory() as folder:
        picture = pathlib.Path(folder) / "study.svg"
        done = over_ranks(2, "sweep", "scenarios/training/first-steps.yaml", "--runs", "600", "--vary",
                          "time_out=20s..60s/2", "-o", picture)
        check(done.returncode == 0 and picture.read_text().startswith("<"), "one rank writes the picture")
        check(os.listdir(folder) == ["study.svg"], "and nothing else is left")
        kept = pathlib.Path(folder) / "blocks"
        first = over_ranks(2, *SWEEP, "--state", kept)
        check(len(list(kept.iterdir())) == 12, "every block is kept once")
        check(ran(DRYBUS, *SWEEP, "--state", kept).stdout == first.stdout, "and one machine goes on from them")
        begun = time.monotonic()
        over_ranks(2, *SWEEP, "--state", kept)
        print(f"twelve blocks that are there: {time.monotonic() - begun:.2f} s")
    # What goes wrong is told once, with the exit code of the command.
    for words in (["sweep", "nowhere.yaml"], ["sweep", "scenarios/training/first-steps.yaml", "--runs", "0"], ["hunt", "x"],
                  [*SWEEP, "--firmware", "x.so"], ["check", "scenarios", "--mutants"], [*SWEEP, "--run=3"]):
        done = over_ranks(2, *words)
        check(done.returncode == 2, f"{words} ends with 2: {done.returncode} {done.stderr}")
        told = [line for line in done.stderr.splitlines() if line.startswith("drybus")]
        check(len(told) == 1, f"{words} is told once: {done.stderr}")
    check(over_ranks(1, "--help").returncode == 0, "help is help")
    for how in (signal.SIGKILL, signal.SIGSTOP):
        struck(how)
    print("ranks agree with one machine, byte for byte, also with one of them lost")


if __name__ == "__main__":
    main()
