"""Counts instructions under callgrind and compares them with a stored budget. Called by tools/instruction-budget."""

import argparse
import json
import pathlib
import re
import subprocess
import sys
import tempfile

BUDGET = pathlib.Path("tests/data/instruction_budget.json")
MAIN_SCENARIO = "scenarios/training/setup-split.yaml"
# More than this is a regression; less than this under the budget is worth a new one.
TOLERANCE = 0.05

# What is counted: the program and its words. One thread each, so that nothing depends on who comes first.
JOBS = {
    "run": ["drybus", "run", MAIN_SCENARIO],
    "check": ["drybus", "check", "scenarios/regression", "--jobs", "1"],
    "sweep": ["drybus", "sweep", MAIN_SCENARIO, "--runs", "2000", "--jobs", "1"],
    "hunt": ["drybus", "hunt", "scenarios/regression/hunt-start.yaml", "--for", "shared-address", "--depth", "5",
             "--jobs", "1"],
    "diagnose": ["drybus", "diagnose", "scenarios/reports/the-fourth-just-sits-there.yaml"],
    "fork": ["instruction_jobs", "fork"],
    "hash": ["instruction_jobs", "hash"],
    "hold": ["instruction_jobs", "hold"],
}


def first_line(*command):
    return subprocess.run(command, stdout=subprocess.PIPE, text=True, check=True).stdout.splitlines()[0]


def circumstances(build):
    """What decides how many instructions a source becomes, or which libraries it runs through."""
    cache = (build / "CMakeCache.txt").read_text()
    compiler = re.search(r"^CMAKE_CXX_COMPILER:\w+=(.*)$", cache, re.MULTILINE).group(1)
    build_type = re.search(r"^CMAKE_BUILD_TYPE:\w+=(.*)$", cache, re.MULTILINE).group(1)
    # The C library copies memory in the widest way that the processor offers.
    flags = re.search(r"^flags\s*:(.*)$", pathlib.Path("/proc/cpuinfo").read_text(), re.MULTILINE).group(1).split()
    return {"compiler": first_line(compiler, "--version"), "build": build_type,
            "c_library": first_line("ldd", "--version"), "valgrind": first_line("valgrind", "--version"),
            "processor": " ".join(flag for flag in ("avx2", "avx512f", "erms") if flag in flags)}


def count(build, words):
    """Instructions of one job, and which functions took most of them (name, share)."""
    with tempfile.TemporaryDirectory() as folder:
        profile = pathlib.Path(folder) / "profile"
        # An environment of our own: its size moves the stack, and locales and families come from it.
        environment = {"LC_ALL": "C", "TZ": "UTC", "PATH": "/usr/bin:/bin"}
        command = ["setarch", "-R", "valgrind", "--tool=callgrind", f"--callgrind-out-file={profile}",
                   str(build / words[0]), *words[1:]]
        run = subprocess.run(command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
        if run.returncode not in (0, 1) or not profile.exists():
            sys.exit(f"tools/instruction-budget: {' '.join(words)} failed:\n{run.stderr}")
        table = subprocess.run(["callgrind_annotate", "--threshold=60", str(profile)], stdout=subprocess.PIPE, text=True,
                               check=True).stdout
    total = re.search(r"^([\d,]+) .*PROGRAM TOTALS", table, re.MULTILINE).group(1)
    functions = re.findall(r"^\s*[\d,]+ \(\s*([\d.]+)%\)\s+(?:[^\s:]*:)?(.+?)(?: \[\S*\])?$", table, re.MULTILINE)
    return int(total.replace(",", "")), [(short(name), float(share)) for share, name in functions if name != "PROGRAM TOTALS"]


def short(name):
    """A function's name alone: without result, arguments and what they are instances of."""
    name = name.replace("drybus::", "").replace("(anonymous namespace)::", "").split("(")[0]
    while (bare := re.sub(r"<[^<>]*>?", "", name)) != name:
        name = bare
    return (name.split() or ["?"])[-1]


def print_table(counted, budget):
    print(f"{'job':<10} {'instructions':>15} {'budget':>15} {'change':>8}  most of them in")
    for job, (instructions, functions) in counted.items():
        known = budget.get(job)
        change = f"{100 * (instructions / known - 1):+.2f} %" if known else "new"
        most = ", ".join(f"{name} {share:.0f} %" for name, share in functions[:2])
        print(f"{job:<10} {instructions:>15,} {known or 0:>15,} {change:>8}  {most}")


def judge(counted, budget):
    """The exit code."""
    over = [job for job, (instructions, _) in counted.items()
            if job in budget and instructions > budget[job] * (1 + TOLERANCE)]
    under = [job for job, (instructions, _) in counted.items()
             if job in budget and instructions < budget[job] * (1 - TOLERANCE)]
    unknown = [job for job in counted if job not in budget]
    if under:
        print(f"well under the budget: {', '.join(under)}; --accept keeps the gain")
    if over:
        print(f"MORE THAN {100 * TOLERANCE:.0f} % OVER THE BUDGET: {', '.join(over)}. "
              "If that is what it should cost, accept it with --accept.")
    if unknown:
        print(f"without a budget: {', '.join(unknown)}; --accept gives them one")
    return 1 if over or unknown else 0


def main():
    parser = argparse.ArgumentParser(usage="tools/instruction-budget [JOB...] [--accept]")
    parser.add_argument("build", type=pathlib.Path)
    parser.add_argument("jobs", nargs="*", metavar="JOB", help=f"{', '.join(JOBS)}; all of them unless named")
    parser.add_argument("--accept", action="store_true")
    options = parser.parse_args()
    if unknown := [job for job in options.jobs if job not in JOBS]:
        parser.error(f"no job is called {unknown[0]}; there are {', '.join(JOBS)}")

    stored = json.loads(BUDGET.read_text()) if BUDGET.exists() else {"instructions": {}}
    here = circumstances(options.build)
    there = {key: stored.get(key) for key in here}
    comparable = here == there
    if stored["instructions"] and not comparable and not options.accept:
        for key in here:
            if here[key] != there[key]:
                print(f"{key}: the budget was made with {there[key]}, here is {here[key]}")
        print("So nothing can be said; no comparison was made.")
        return 0
    counted = {job: count(options.build, JOBS[job]) for job in options.jobs or JOBS}
    budget = stored["instructions"] if comparable else {}
    print_table(counted, budget)
    if not options.accept:
        return judge(counted, budget)
    accepted = budget | {job: instructions for job, (instructions, _) in counted.items()}
    BUDGET.write_text(json.dumps(here | {"instructions": {job: accepted[job] for job in JOBS if job in accepted}}, indent=1) + "\n")
    print(f"{BUDGET} holds what was counted.")
    return 0


sys.exit(main())
