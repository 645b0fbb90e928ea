"""Firmware as its author builds it to find faults: with gcc's and clang's coverage, AddressSanitizer and
UndefinedBehaviorSanitizer, in both styles. The lines that build and run it are those of DEVELOPERS.md."""
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

DRYBUS, SOURCE = sys.argv[1], pathlib.Path(sys.argv[2])
SAMPLE = SOURCE / "tests/firmware/faulty.c"
SCENARIO = """drybus: 1
family: wired-keypad
site: {plates: {}, modules: {M1: {intended: 23/4/1}}}
script:
  - press: M1 local
  - press: M1 local
  - wait: 1s
"""
BASE = ["-std=c11", "-g", "-O1", "-fPIC", "-shared", "-Wl,-z,now", f"-I{SOURCE}"]
wrong = []


def check(holds, what, told=""):
    if not holds:
        wrong.append(f"{what}\n{told}")


def run(words, folder, **more):
    return subprocess.run(words, cwd=folder, capture_output=True, text=True, env={**os.environ, "DRYBUS_FAMILIES": str(SOURCE / "scenarios/families"), **more})


def build(compiler, folder, name, *options):
    built = run([compiler, *BASE, *options, "-c", str(SAMPLE), "-o", f"{name}.o"], folder)
    linked = run([compiler, *BASE, *options, f"{name}.o", "-o", f"{name}.so"], folder)
    check(built.returncode == 0 and linked.returncode == 0, f"{compiler} builds {name}", built.stderr + linked.stderr)


def checked(folder, name, **more):
    return run([DRYBUS, "check", "s.yaml", "--firmware", f"module=./{name}.so"], folder, **more)


def covered_by_gcc(folder, style):
    name = "gcc" + style
    build("gcc", folder, name, "--coverage", *(["-DOWN"] if style else []))
    ran = checked(folder, name)
    check(ran.returncode == 0, f"{name} passes", ran.stdout + ran.stderr)
    told = run(["gcov", "-o", ".", f"{name}.o"], folder)
    lines = (folder / "faulty.c.gcov").read_text() if (folder / "faulty.c.gcov").exists() else told.stderr
    # The two presses, in two runs: check runs firmware twice.
    check(re.search(r"^ +4: +\d+:  \+\+state->presses;", lines, re.M), f"{name} counts what was done", lines)
    check(re.search(r"^ +#####: +\d+: .*never covered", lines, re.M), f"{name} tells what was not", lines)


def covered_by_clang(folder, style):
    name = "clang" + style
    build("clang", folder, name, "-fprofile-instr-generate", "-fcoverage-mapping", *(["-DOWN"] if style else []))
    ran = checked(folder, name, LLVM_PROFILE_FILE=f"{name}.profraw")
    check(ran.returncode == 0, f"{name} passes", ran.stdout + ran.stderr)
    run(["llvm-profdata", "merge", f"{name}.profraw", "-o", f"{name}.profdata"], folder)
    told = run(["llvm-cov", "show", f"{name}.so", f"-instr-profile={name}.profdata"], folder)
    check(re.search(r"\| +4\|  \+\+state->presses;", told.stdout), f"{name} counts what was done", told.stdout + told.stderr)
    check(re.search(r"\| +0\| .*never covered", told.stdout), f"{name} tells what was not", told.stdout)


def sanitized(folder, style):
    own = ["-DOWN"] if style else []
    name = f"ubsan{style}"
    build("gcc", folder, name, "-fsanitize=undefined", "-DFAULT=1", *own)
    ran = checked(folder, name)
    check(ran.returncode == 1 and re.search(r"M1: the firmware 'faulty', in its handler for button, its sanitizer reports at "
                                            r"faulty.c:\d+: runtime error: signed integer overflow", ran.stdout),
          f"{name} is told", ran.stdout + ran.stderr)
    name = f"asan{style}"
    build("gcc", folder, name, "-fsanitize=address", "-DFAULT=2", *own)
    ran = checked(folder, name)
    check(ran.returncode == 2 and "LD_PRELOAD=$(gcc -print-file-name=libasan.so)" in ran.stderr,
          f"{name} says what is missing", ran.stdout + ran.stderr)
    runtime = run(["gcc", "-print-file-name=libasan.so"], folder).stdout.strip()
    ran = checked(folder, name, LD_PRELOAD=runtime, ASAN_OPTIONS="detect_leaks=0")
    check(ran.returncode == 1 and re.search(r"in its handler for button, its sanitizer reports AddressSanitizer: "
                                            r"global-buffer-overflow, at faulty.c:\d+, in next", ran.stdout),
          f"{name} is told", ran.stdout + ran.stderr)


with tempfile.TemporaryDirectory() as where:
    folder = pathlib.Path(where)
    (folder / "s.yaml").write_text(SCENARIO)
    for style in ("", "-own"):
        covered_by_gcc(folder, style)
        sanitized(folder, style)
        if shutil.which("clang") and shutil.which("llvm-cov"):
            covered_by_clang(folder, style)
for each in wrong:
    print("WRONG:", each)
print("clang was tried, too" if shutil.which("clang") else "clang is not here: gcc alone was tried")
sys.exit(1 if wrong else 0)
