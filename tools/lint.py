"""clang-format, cppcheck and clang-tidy over our sources. Called by tools/lint.

Suppressions stand where they are needed, with the reason beside them: `// NOLINT(check): why` for clang-tidy,
`// cppcheck-suppress check // why` on the line before for cppcheck. What is switched off for all files stands, with its
reason, in .clang-tidy and in CPPCHECK_OFF below.
"""

import argparse
import concurrent.futures
import hashlib
import json
import os
import pathlib
import re
import shlex
import subprocess
import sys

BUILD = pathlib.Path("build-lint")
FOLDERS = ("sim", "model", "tools", "tests")
# Not `style`: clang-tidy looks after that, and cppcheck 2.10 takes too much of C++20 for what it is not.
CPPCHECK_ON = "warning,performance,portability"
CPPCHECK_OFF = {
    "missingIncludeSystem": "the libraries' headers are not looked into",
    "unknownMacro": "doctest's macros",
    "internalAstError": "cppcheck 2.10 does not know all of C++20",
    "syntaxError": "likewise",
    "constStatement": "it takes `static_cast<void>(a), static_cast<void>(b);` for a slip",
    "cppcheckError": "it stops at literals of one's own such as 3ms, where it would work them out",
}


def ours():
    """All our C and C++ files."""
    files = subprocess.run(["git", "ls-files", *FOLDERS], stdout=subprocess.PIPE, text=True, check=True).stdout.split()
    return [file for file in files if file.endswith((".h", ".cpp", ".c"))]


def changed_since(reference):
    names = subprocess.run(["git", "diff", "--name-only", "--diff-filter=d", reference, "--", *FOLDERS],
                           stdout=subprocess.PIPE, text=True, check=True).stdout.split()
    return [name for name in names if name.endswith((".h", ".cpp", ".c"))]


class Commands:
    """How each translation unit is compiled, and which of our files it reads."""

    def __init__(self):
        root = pathlib.Path.cwd()
        self.flags = {}
        self.included = {}
        for entry in json.loads((BUILD / "compile_commands.json").read_text()):
            path = pathlib.Path(entry["file"])
            if path.is_relative_to(root) and not path.is_relative_to(root / BUILD):
                words = shlex.split(entry["command"])
                self.flags.setdefault(str(path.relative_to(root)), [w for w in words if w.startswith(("-I", "-D", "-std"))])

    def units(self):
        return sorted(self.flags)

    def reads(self, file):
        """The file and every file of ours that it includes. Our includes are named from the root, or lie beside the file."""
        if file not in self.included:
            self.included[file] = {file}
            text = pathlib.Path(file).read_text()
            for name in re.findall(r'^\s*#\s*include\s*"([^"]+)"', text, re.MULTILINE):
                for path in (name, os.path.join(os.path.dirname(file), name)):
                    if os.path.exists(path):
                        self.included[file] = self.included[file] | self.reads(os.path.normpath(path))
                        break
        return self.included[file]


class Memory:
    """Which units have been found clean, by all that a finding could depend on."""

    def __init__(self, tool, settings):
        self.folder = BUILD / "clean" / tool
        self.folder.mkdir(parents=True, exist_ok=True)
        self.settings = settings

    def place(self, files):
        key = hashlib.sha256(self.settings.encode())
        for file in sorted(files):
            key.update(file.encode() + b"\0" + pathlib.Path(file).read_bytes())
        return self.folder / key.hexdigest()


def layout(files):
    """Files that clang-format would change."""
    found = subprocess.run(["clang-format-14", "--dry-run", "-Werror", *files], stderr=subprocess.PIPE, text=True).stderr
    wrong = sorted({line.split(":")[0] for line in found.splitlines() if "error:" in line})
    for file in wrong:
        print(f"{file}: clang-format would lay it out otherwise; clang-format-14 -i {file} does it")
    return bool(wrong)


def cppcheck(unit, flags):
    # No more than one set of preprocessor symbols: ours.
    command = ["cppcheck", "--quiet", f"--enable={CPPCHECK_ON}", "--inline-suppr", "--std=c++20",
               "--language=c++" if unit.endswith(".cpp") else "--language=c", "--error-exitcode=1", "--max-configs=1",
               "--template={file}:{line}:{column}: {message} [{id}]", "-I.", *(f for f in flags if f.startswith("-D")),
               *(f"--suppress={check}" for check in CPPCHECK_OFF), unit]
    return subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)


def clang_tidy(unit, _):
    command = ["clang-tidy-14", "--quiet", "-p", str(BUILD), "--warnings-as-errors=*", "--extra-arg=-Wno-unknown-warning-option",
               unit]
    return subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)


def look_over(tool, name, units, commands, reads, jobs):
    """Whether anything was found."""
    settings = pathlib.Path(".clang-tidy").read_text() + CPPCHECK_ON + repr(CPPCHECK_OFF) + tool.__name__
    memory = Memory(name, settings)
    places = {unit: memory.place(reads[unit]) for unit in units}
    todo = [unit for unit in units if not places[unit].exists()]
    print(f"== {name}: {len(todo)} of {len(units)} translation units to look at", flush=True)
    told, found = set(), False
    with concurrent.futures.ThreadPoolExecutor(jobs) as pool:
        for unit, run in zip(todo, pool.map(lambda unit: tool(unit, commands.flags[unit]), todo)):
            if run.returncode == 0:
                places[unit].touch()
                continue
            found = True
            # What is wrong in a header is told once, not for each unit that includes it.
            text = run.stdout.replace(str(pathlib.Path.cwd()) + "/", "")
            if text not in told:
                told.add(text)
                print(f"-- {unit}\n{text}", flush=True)
    return found


def main():
    parser = argparse.ArgumentParser(prog="tools/lint")
    parser.add_argument("files", nargs="*", metavar="FILE")
    parser.add_argument("--changed", nargs="?", const="main", metavar="REF", help="what differs from REF (main)")
    parser.add_argument("--jobs", type=int, default=os.cpu_count())
    options = parser.parse_args()
    everything = ours()
    chosen = [os.path.relpath(file) for file in options.files] or everything
    if options.changed:
        chosen = changed_since(options.changed)
    if unknown := [file for file in chosen if not os.path.exists(file)]:
        parser.error(f"no such file: {unknown[0]}")
    commands = Commands()
    reads = {unit: commands.reads(unit) for unit in commands.units()}
    # A header is looked at through a unit that reads it: the one of its name, if there is one.
    units = set()
    for file in chosen:
        through = [unit for unit in commands.units() if file in reads[unit]]
        own = [unit for unit in through if pathlib.Path(unit).stem == pathlib.Path(file).stem]
        units |= set((own or through)[:1])
    print(f"== clang-format: {len(chosen)} files", flush=True)
    found = bool(chosen) and layout(chosen)
    found |= look_over(cppcheck, "cppcheck", sorted(units), commands, reads, options.jobs)
    found |= look_over(clang_tidy, "clang-tidy", sorted(units), commands, reads, options.jobs)
    print("== found something" if found else "== clean")
    return 1 if found else 0


sys.exit(main())
