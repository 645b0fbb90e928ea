"""Firmware as its author builds it to find faults: with gcc's and clang's coverage, AddressSanitizer and
UndefinedBehaviorSanitizer, in both styles. The lines that build and run it are those of tools/handbook/debugger.md."""
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

DRYBUS, SOURCE = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
SCENARIO = """drybus: 1
family: wired-keypad
site: {plates: {}, modules: {M1: {intended: 23/4/1}}}
script:
  - press: M1 local
  - press: M1 local
  - wait: 1s
"""
wrong = []


def block_with(word):
    """The lines of the page's block that has this word in it."""
    page = (SOURCE / "tools/handbook/debugger.md").read_text()
    return next(block for block in re.findall(r"^```sh\n(.*?)^```", page, re.M | re.S) if word in block)


def check(holds, what, ran):
    if not holds:
        wrong.append(f"{what}\n{ran.args}\n{ran.stdout}{ran.stderr}")


def shell(lines, fault, style):
    """Runs lines where dimmer.c is a module with that fault, in that style, and scenarios holds one that presses it twice."""
    with tempfile.TemporaryDirectory() as where:
        folder = pathlib.Path(where)
        (folder / "scenarios").mkdir()
        (folder / "scenarios/s.yaml").write_text(SCENARIO)
        (folder / "model").symlink_to(SOURCE / "model")
        own = "#define OWN\n" if style == "own variables" else ""
        (folder / "dimmer.c").write_text(f'#define FAULT {fault}\n{own}#include "{SOURCE}/tests/firmware/faulty.c"\n')
        ran = subprocess.run(["sh", "-c", f"{lines}\nstatus=$?\n[ ! -e faulty.c.gcov ] || cat faulty.c.gcov\nexit $status"],
                             cwd=folder, text=True, errors="replace", capture_output=True, env={**os.environ, "PATH": f"{DRYBUS.parent}:{os.environ['PATH']}",
                                                       "DRYBUS_FAMILIES": str(SOURCE / "scenarios/families")})
        return ran


def coverage(style):
    # Two presses, in two runs: check runs firmware twice.
    ran = shell(block_with("--coverage"), 0, style)
    check("1 passed" in ran.stdout, f"gcc's coverage, {style}: it passes", ran)
    check(re.search(r"^ +4: +\d+:  \+\+state->presses;", ran.stdout, re.M), f"gcc, {style}: counts what was done", ran)
    check(re.search(r"^ +#####: +\d+: .*never covered", ran.stdout, re.M), f"gcc, {style}: tells what was not", ran)
    if not has_clang:
        return
    ran = shell(block_with("-fprofile-instr-generate"), 0, style)
    check("1 passed" in ran.stdout, f"clang's coverage, {style}: it passes", ran)
    check(re.search(r"\| +4\|  \+\+state->presses;", ran.stdout), f"clang, {style}: counts what was done", ran)
    check(re.search(r"\| +0\| .*never covered", ran.stdout), f"clang, {style}: tells what was not", ran)


def sanitizers(style):
    ran = shell(block_with("-fsanitize=undefined"), 1, style)
    check(re.search(r"M1: the firmware 'faulty', in its handler for button, its sanitizer reports at faulty.c:\d+: "
                    r"runtime error: signed integer overflow", ran.stdout), f"UBSan, {style}: is told", ran)
    lines = block_with("-fsanitize=address")
    ran = shell(lines, 2, style)
    check(re.search(r"in its handler for button, its sanitizer reports AddressSanitizer: global-buffer-overflow, at "
                    r"faulty.c:\d+, in next", ran.stdout), f"ASan, {style}: is told", ran)
    ran = shell(re.sub(r"LD_PRELOAD.*detect_leaks=0 ", "", lines), 2, style)
    check(ran.returncode == 2 and "LD_PRELOAD=$(gcc -print-file-name=libasan.so)" in ran.stderr,
          f"ASan, {style}: says what is missing", ran)
    for word in ("-fsanitize=undefined", "-fsanitize=address"):
        ran = shell(block_with(word), 0, style)
        check(ran.returncode == 0, f"{word}, {style}: what is right passes", ran)


has_clang = shutil.which("clang") and shutil.which("llvm-cov")
for each in ("a block", "own variables"):
    coverage(each)
    sanitizers(each)
for each in wrong:
    print("WRONG:", each)
print("clang was tried, too" if has_clang else "clang is not here: gcc alone was tried")
sys.exit(1 if wrong else 0)
