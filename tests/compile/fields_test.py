"""A field of a state that nobody decided about does not compile. Called as fields_test.py COMPILER SOURCE_FOLDER FOLDER."""
import os
import subprocess
import sys

compiler, source, folder = sys.argv[1:4]
os.makedirs(folder, exist_ok=True)
program = os.path.join(folder, "fields")


def compiled(mistake):
    words = [compiler, "-std=c++20", "-I", source, f"-DMISTAKE={mistake}", "-o", program,
             os.path.join(source, "tests/compile/fields.cpp")]
    return subprocess.run(words, capture_output=True, text=True, errors="replace")


right = compiled(0)
if right.returncode != 0 or subprocess.run([program]).returncode != 0:
    sys.exit(f"the whole list does not do what it should:\n{right.stderr}")
for mistake, words in {1: "decide what it counts in", 2: "decide what it counts in", 3: "no matching function"}.items():
    run = compiled(mistake)
    if run.returncode == 0:
        sys.exit(f"mistake {mistake} compiles")
    if words not in run.stderr:
        sys.exit(f"mistake {mistake} is refused, but not with '{words}':\n{run.stderr[:3000]}")
print("3 mistakes refused, the whole list compiles")
