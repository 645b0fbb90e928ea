"""What the scripts beside this one share: running drybus and the programs that read its exports.

Each script is called as SCRIPT PROGRAM SOURCE_FOLDER. A reader that is not installed is a failure: tools/verify installs
what tools/packages lists.
"""
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

PROGRAM = os.path.abspath(sys.argv[1])
SOURCE = os.path.abspath(sys.argv[2])


def fail(message):
    sys.exit(f"{os.path.basename(sys.argv[0])}: {message}")


def check(holds, message):
    if not holds:
        fail(message)


def need(*tools):
    missing = [tool for tool in tools if shutil.which(tool) is None]
    check(not missing, f"not installed: {', '.join(missing)}; tools/packages names the packages")


def call(command, codes=(0,)):
    """Runs a command and gives its standard output."""
    done = subprocess.run(command, capture_output=True, text=True, cwd=SOURCE, timeout=900)
    check(done.returncode in codes, f"{' '.join(command)}: exit {done.returncode}\n{done.stdout}{done.stderr}")
    return done.stdout


def drybus(*arguments, codes=(0,)):
    return call([PROGRAM, *arguments], codes)


def scenario(name):
    return os.path.join(SOURCE, "scenarios", "training", name + ".yaml")


def folder():
    return tempfile.TemporaryDirectory(prefix="drybus-exports-")


def read_record(path):
    with open(path, encoding="utf-8") as lines:
        return [json.loads(line) for line in lines]


def identifier(name):
    """As tools/export/vcd_writer.h has it, for names in ASCII."""
    plain = re.sub(r"[^A-Za-z0-9]", "_", name)
    return "_" + plain if not plain or plain[0].isdigit() else plain
