"""Mutation testing of sim/. Called by tools/mutate-sim.

All mutants go into one program (tests/mutation/mutant.h); a number chosen at its start wakes one of them. So the sources
are compiled once. A first run tells which test cases come to which mutant; only these are run with it awake, the quick ones
first.

Operators: comparisons (boundary shifted, turned round), arithmetic and bits (another operator), conditions (each operand
of && and || made irrelevant; others negated), returned truths negated, returned numbers one more, statements left out,
whole numbers one more and one less. Nothing is changed in assertions, nor in what the compiler works out.
"""

import argparse
import concurrent.futures
import dataclasses
import difflib
import json
import os
import pathlib
import random
import re
import resource
import signal
import subprocess
import sys
import time

import clang.cindex as clang

ROOT = pathlib.Path.cwd()
BUILD = ROOT / "build-mutate"
EQUIVALENT = ROOT / "tests/mutation/equivalent.json"

COMPARISONS = {"<": ("less", "<=", ">="), "<=": ("at_most", "<", ">"), ">": ("more", ">=", "<="),
               ">=": ("at_least", ">", "<"), "==": ("equal", "!="), "!=": ("unequal", "==")}
ARITHMETIC = {"+": ("plus", "-"), "-": ("minus", "+"), "*": ("times", "/"), "/": ("divided_by", "*"),
              "%": ("modulo", "*"), "&": ("bit_and", "|"), "|": ("bit_or", "&"), "^": ("bit_xor", "&"),
              "<<": ("left_by", ">>"), ">>": ("right_by", "<<")}
ASSIGNMENTS = {"+=": ("add_to", "-="), "-=": ("take_from", "+="), "|=": ("set_bits", "&="), "&=": ("keep_bits", "|="),
               "^=": ("flip_bits", "|="), "<<=": ("shift_left", ">>="), ">>=": ("shift_right", "<<=")}
BINARY = COMPARISONS | ARITHMETIC | ASSIGNMENTS

Kind = clang.CursorKind


@dataclasses.dataclass
class Mutant:
    """One mistake: in `file`, the text from `start` to `end` becomes `instead`."""
    number: int
    file: str
    start: int
    end: int
    instead: str
    line: int


@dataclasses.dataclass
class Wrap:
    """How mutants get into the source: text before and after a stretch of it, and an operator in it become a comma."""
    start: int
    end: int
    before: str
    after: str
    numbers: list
    comma: tuple = None


class Source:
    """The mutants of one file."""

    def __init__(self, path, numbers):
        self.path = path
        self.name = str(path.relative_to(ROOT))
        self.text = path.read_bytes()
        self.numbers = numbers
        self.mutants = []
        self.wraps = []
        options = clang.TranslationUnit.PARSE_DETAILED_PROCESSING_RECORD
        unit = clang.Index.create().parse(str(path), args=["-x", "c++", "-std=c++20", f"-I{ROOT}"], options=options)
        errors = [str(d) for d in unit.diagnostics if d.severity >= clang.Diagnostic.Error]
        if errors:
            sys.exit(f"tools/mutate-sim: clang cannot read {self.name}: {errors[0]}")
        self.macros = []
        ours = [cursor for cursor in unit.cursor.get_children() if self.is_here(cursor)]
        for cursor in ours:
            if cursor.kind == Kind.MACRO_INSTANTIATION:
                self.macros.append((cursor.extent.start.offset, cursor.extent.end.offset))
        self.seen = set()
        for cursor in ours:
            if not cursor.kind.is_preprocessing():
                self.visit(cursor, None)

    def is_here(self, cursor):
        return cursor.location.file is not None and cursor.location.file.name == str(self.path)

    # --- reading

    def extent(self, cursor):
        return cursor.extent.start.offset, cursor.extent.end.offset

    def piece(self, start, end):
        return self.text[start:end].decode()

    def in_macro(self, start, end):
        return any(start < macro_end and macro_start < end for macro_start, macro_end in self.macros)

    def visit(self, cursor, parent):
        if self.is_left_alone(cursor):
            return
        start, end = self.extent(cursor)
        if end > start and not self.in_macro(start, end):
            self.look_at(cursor, parent)
        children = list(cursor.get_children())
        if cursor.kind == Kind.CASE_STMT:
            children = children[1:]
        for child in children:
            self.visit(child, cursor)

    def is_left_alone(self, cursor):
        """What the compiler works out, and what has no effect on a run."""
        if cursor.kind in (Kind.STATIC_ASSERT, Kind.ENUM_DECL, Kind.USING_DIRECTIVE, Kind.TYPE_ALIAS_DECL):
            return True
        if cursor.kind in (Kind.VAR_DECL, Kind.FIELD_DECL):
            start, end = self.extent(cursor)
            line = self.text.rfind(b"\n", 0, start) + 1
            return bool(re.search(r"\bconstexpr\b", self.piece(line, end).split("=")[0].split("{")[0]))
        if cursor.kind == Kind.IF_STMT:
            start, end = self.extent(cursor)
            return self.piece(start, end).startswith("if constexpr")
        return self.piece(*self.extent(cursor)).endswith("= default")

    def look_at(self, cursor, parent):
        kind = cursor.kind
        if kind in (Kind.BINARY_OPERATOR, Kind.COMPOUND_ASSIGNMENT_OPERATOR, Kind.CALL_EXPR):
            self.binary(cursor)
        if kind in (Kind.IF_STMT, Kind.WHILE_STMT, Kind.CONDITIONAL_OPERATOR, Kind.FOR_STMT, Kind.DO_STMT):
            self.condition(cursor)
        if kind == Kind.RETURN_STMT:
            self.returned(cursor)
        if kind == Kind.INTEGER_LITERAL:
            self.whole_number(cursor, parent)
        if parent is not None and self.is_statement(cursor, parent):
            self.left_out(cursor)

    def is_bare(self, cursor):
        """Whether no operator of its own tells more than a negation would."""
        text = self.piece(*self.extent(cursor))
        return re.search(r"[<>=!]=|&&|\|\||[^-<>]>[^>]|[^<]<[^<]", text) is None

    def operator_of(self, cursor):
        """(operator, its place, left, right) of a binary expression, overloaded or not."""
        children = list(cursor.get_children())
        if cursor.kind == Kind.CALL_EXPR:
            if len(children) != 3:
                return None
            left, operator, right = children
            place = operator.extent.start.offset
            match = re.match(rb"<<=|>>=|[-+|&^]=|[<>=!]=|<<|>>|[-+*/%&|^<>]", self.text[place:place + 3])
            if not match or self.extent(left)[1] > place or self.extent(right)[0] < place + match.end():
                return None
            return match.group().decode(), place, left, right
        if len(children) != 2:
            return None
        left, right = children
        gap_start, gap_end = self.extent(left)[1], self.extent(right)[0]
        symbol = self.piece(gap_start, gap_end).strip()
        return symbol, gap_start + self.text[gap_start:gap_end].find(symbol.encode()), left, right

    # --- mutants

    def add(self, start, end, instead):
        if len(self.mutants) and self.numbers[0] >= 16_000:
            sys.exit("tools/mutate-sim: more mutants than mutant.h has room for")
        number = self.numbers[0]
        self.numbers[0] += 1
        self.mutants.append(Mutant(number, self.name, start, end, instead, self.text.count(b"\n", 0, start) + 1))
        return number

    def wrap(self, start, end, before, after, numbers, comma=None):
        self.wraps.append(Wrap(start, end, before, after, numbers, comma))

    def is_new(self, *what):
        if what in self.seen:
            return False
        self.seen.add(what)
        return True

    def binary(self, cursor):
        found = self.operator_of(cursor)
        if not found:
            return
        symbol, place, left, right = found
        start, end = self.extent(left)[0], self.extent(right)[1]
        if not self.is_new("binary", place):
            return
        if symbol in ("&&", "||"):
            self.operands(symbol, left, right)
        elif symbol in BINARY and self.is_sound(cursor, symbol, right):
            name, *wrong = BINARY[symbol]
            numbers = [self.add(place, place + len(symbol), instead) for instead in wrong]
            self.wrap(start, end, f"::mutant::{name}({numbers[0]}, ", ")", numbers, (place, place + len(symbol)))

    def is_sound(self, cursor, symbol, right):
        """Whether the other operator makes sense for these types: there is no sum of two instants."""
        if cursor.kind != Kind.CALL_EXPR or symbol in COMPARISONS:
            return True
        kind = right.type.get_canonical()
        is_number = kind.kind.name in ("INT", "UINT", "LONG", "ULONG", "SHORT", "USHORT", "LONGLONG", "ULONGLONG", "DEPENDENT")
        return is_number or "duration" in kind.spelling or symbol in ("&", "|", "^")

    def operands(self, symbol, left, right):
        for operand in (left, right):
            start, end = self.extent(operand)
            if self.piece(start, end).startswith("const "):
                continue
            instead = "true" if symbol == "&&" else "false"
            number = self.add(start, end, instead)
            before = f"(::mutant::on({number}) || (" if symbol == "&&" else f"(!::mutant::on({number}) && ("
            self.wrap(start, end, before, "))", [number])

    def condition(self, cursor):
        children = [child for child in cursor.get_children() if child.kind != Kind.DECL_STMT]
        if not children:
            return
        tested = {Kind.DO_STMT: children[-1]}.get(cursor.kind, children[0])
        if cursor.kind == Kind.FOR_STMT:
            # for (init; condition; step) body: which of its children is the condition only the text tells
            tested = next((child for child in children[:-1] if child.type.spelling == "bool"), None)
        if tested is None or not tested.kind.is_expression() or not self.is_bare(tested):
            return
        self.negate(*self.extent(tested))

    def negate(self, start, end):
        if self.in_macro(start, end) or not self.is_new("negate", start, end):
            return
        number = self.add(start, end, f"!({self.piece(start, end)})")
        self.wrap(start, end, f"(::mutant::on({number}) != static_cast<bool>(", "))", [number])

    def returned(self, cursor):
        children = list(cursor.get_children())
        if len(children) != 1 or not children[0].kind.is_expression():
            return
        value = children[0]
        start, end = self.extent(value)
        if value.type.get_canonical().spelling == "bool":
            if self.is_bare(value):
                self.negate(start, end)
        elif value.type.get_canonical().kind.name in ("INT", "UINT", "LONG", "ULONG", "USHORT", "SHORT", "UCHAR"):
            if value.kind == Kind.INTEGER_LITERAL or not self.is_new("returned", start):
                return
            number = self.add(start, end, f"{self.piece(start, end)} + 1")
            self.wrap(start, end, f"(::mutant::on({number}) + (", "))", [number])

    def whole_number(self, cursor, parent):
        start, end = self.extent(cursor)
        text = self.piece(start, end)
        before = self.text[:start].rstrip()[-1:].decode()
        is_value = parent.kind.is_expression() or parent.kind.is_statement() or before in ("=", "{", "(")
        is_template_argument = self.text[end:end + 1] == b">"
        if not re.fullmatch(r"(0x[0-9a-fA-F']+|[0-9']+)[uUlLzZ]*", text) or not is_value or is_template_argument:
            return
        if not self.is_new("number", start):
            return
        zero = int(re.sub(r"['uUlLzZ]", "", text), 0) == 0
        numbers = [self.add(start, end, f"{text} + 1")]
        # One less than nothing would be the most there is: another mistake than this one.
        if not zero:
            numbers.append(self.add(start, end, f"{text} - 1"))
            self.wrap(start, end, f"::mutant::number({numbers[0]}, ", ")", numbers)
        else:
            self.wrap(start, end, f"(::mutant::on({numbers[0]}) + ", ")", numbers)

    def is_statement(self, cursor, parent):
        if cursor.kind in (Kind.BREAK_STMT, Kind.CONTINUE_STMT):
            return True
        if cursor.kind == Kind.RETURN_STMT:
            return not list(cursor.get_children())
        if not cursor.kind.is_expression():
            return False
        text = self.piece(*self.extent(cursor))
        if text.startswith("static_cast<void>"):
            return False
        if parent.kind in (Kind.COMPOUND_STMT, Kind.CASE_STMT, Kind.DEFAULT_STMT):
            return True
        branches = [self.extent(child) for child in parent.get_children()]
        own = self.extent(cursor)
        if parent.kind == Kind.IF_STMT:
            return branches.index(own) > 0 and self.text[own[1]:own[1] + 1] == b";"
        return parent.kind in (Kind.FOR_STMT, Kind.WHILE_STMT, Kind.CXX_FOR_RANGE_STMT) and branches[-1] == own

    def left_out(self, cursor):
        start, end = self.extent(cursor)
        if self.text[end:end + 1] != b";" or not self.is_new("left out", start):
            return
        number = self.add(start, end + 1, ";")
        self.wrap(start, end + 1, f"{{ if (!::mutant::on({number})) {{ ", " } }", [number])

    # --- writing

    def mutated(self, dropped):
        """The source with its mutants in it, all but the dropped ones."""
        before, after, replaced = {}, {}, {}
        for order, wrap in enumerate(self.wraps):
            if dropped.intersection(wrap.numbers):
                continue
            before.setdefault(wrap.start, []).append((-wrap.end, order, wrap.before))
            after.setdefault(wrap.end, []).append((-wrap.start, -order, wrap.after))
            if wrap.comma:
                replaced[wrap.comma[0]] = wrap.comma[1]
        written, place = [f'#include "mutant.h"\n#line 1 "{self.name}"\n'.encode()], 0
        while place <= len(self.text):
            for _, _, text in sorted(after.get(place, [])):
                written.append(text.encode())
            for _, _, text in sorted(before.get(place, [])):
                written.append(text.encode())
            if place in replaced:
                written.append(b",")
                place = replaced[place]
            else:
                written.append(self.text[place:place + 1])
                place += 1
        return b"".join(written)


# --- building


def compile_one(source, target):
    command = ["g++", "-std=c++20", "-O1", "-w", "-fpermissive", "-Wno-narrowing", "-pthread", "-MMD", "-c", f"-I{BUILD}/tree",
               f"-I{ROOT}/tests/mutation", str(source), "-o", str(target)]
    run = subprocess.run(command, stderr=subprocess.PIPE, text=True)
    return run.returncode, run.stderr


def write_tree(sources, dropped):
    """Writes the mutated sources, those that are not there like that already."""
    for source in sources:
        target = BUILD / "tree" / source.name
        text = source.mutated(dropped)
        if not target.exists() or target.read_bytes() != text:
            target.write_bytes(text)


def is_made(target):
    """Whether an object is newer than all that it was made of."""
    made_of = target.with_suffix(".d")
    if not target.exists() or not made_of.exists():
        return False
    files = made_of.read_text().replace("\\\n", " ").split(":", 1)[1].split()
    return all(os.path.exists(file) and os.path.getmtime(file) <= target.stat().st_mtime for file in files)


def build(sources, jobs):
    """The program with all mutants that compile, and the numbers of those that do not."""
    tree = BUILD / "tree"
    (tree / "sim").mkdir(parents=True, exist_ok=True)
    if not (tree / "tests").exists():
        (tree / "tests").symlink_to(ROOT / "tests")
    files = [*(tree / source.name for source in sources if source.name.endswith(".cpp")),
             *sorted((ROOT / "tests/sim").glob("*.cpp")), ROOT / "tests/mutation/main.cpp"]
    objects = {file: BUILD / f"{file.parent.name}_{file.stem}.o" for file in files}
    dropped = set()
    while True:
        write_tree(sources, dropped)
        dropped_before = frozenset(dropped)
        todo = [file for file in files if not is_made(objects[file])]
        if not todo:
            break
        with concurrent.futures.ThreadPoolExecutor(jobs) as pool:
            results = list(pool.map(lambda file: compile_one(file, objects[file]), todo))
        for file, (code, errors) in zip(todo, results):
            if code == 0:
                continue
            objects[file].unlink(missing_ok=True)
            newly = blamed(sources, errors)
            if newly <= dropped_before:
                sys.exit(f"tools/mutate-sim: {file} does not compile:\n{errors[:3000]}")
            dropped |= newly
    program = BUILD / "sim_tests"
    if not program.exists() or any(made.stat().st_mtime > program.stat().st_mtime for made in objects.values()):
        subprocess.run(["g++", "-pthread", *map(str, objects.values()), "-lxxhash", "-o", str(program)], check=True)
    return program, dropped


def blamed(sources, errors):
    """The mutants on the lines that the compiler complains of."""
    lines = set(re.findall(r"^(sim/\w+\.\w+):(\d+)", errors, re.MULTILINE))
    lines |= set(re.findall(r"(?:In file included from|from) (sim/\w+\.\w+):(\d+)", errors)) if not lines else set()
    return {number for source in sources for wrap in source.wraps for number in wrap.numbers
            if any((source.name, str(mutant.line)) in lines for mutant in source.mutants if mutant.number == number)}


# --- running


def limits(cpu_s):
    def apply():
        resource.setrlimit(resource.RLIMIT_CPU, (cpu_s, cpu_s + 1))
        resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    return apply


def as_filter(name):
    """doctest takes commas for ends of names; a question mark stands for any character."""
    return name.replace(",", "?").replace("*", "?")


@dataclasses.dataclass
class TestCase:
    name: str
    seconds: float
    reaches: set


def gather_test_cases(program):
    log = BUILD / "reached"
    if not log.exists() or log.stat().st_mtime < program.stat().st_mtime:
        unfinished = BUILD / "reached.unfinished"
        run = subprocess.run([str(program)], env=os.environ | {"DRYBUS_REACHED": str(unfinished)}, stdout=subprocess.PIPE,
                             text=True)
        if run.returncode != 0:
            sys.exit(f"tools/mutate-sim: the tests fail without any mutant:\n{run.stdout[-3000:]}")
        unfinished.rename(log)
    cases = []
    for line in log.read_text().splitlines():
        seconds, name, numbers = line.split("\t")
        cases.append(TestCase(name, float(seconds), set(map(int, numbers.split()))))
    return cases


def batches(cases):
    """The quick ones together, then the others one by one, the quickest first."""
    cases = sorted(cases, key=lambda case: case.seconds)
    quick, slow, total = [], [], 0
    for case in cases:
        total += case.seconds
        (quick if total < 0.3 else slow).append(case)
    return ([quick] if quick else []) + [[case] for case in slow]


def is_asleep(process):
    """Whether every thread waits for another: a deadlock. On a busy machine a test is slow all the same."""
    try:
        tasks = pathlib.Path(f"/proc/{process.pid}/task").glob("*/stat")
        return all(task.read_text().rsplit(")", 1)[1].split()[0] == "S" for task in tasks)
    except OSError:  # a thread, or all of it, has just ended
        return False


def exit_code(command, environment, cpu_s):
    """Of one run; None when its time was up, or when it would never have ended."""
    process = subprocess.Popen(command, env=os.environ | environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                               preexec_fn=limits(cpu_s))
    while True:
        try:
            code = process.wait(timeout=20)
            return None if code in (-signal.SIGXCPU, -signal.SIGKILL) else code
        except subprocess.TimeoutExpired:
            if is_asleep(process):
                process.kill()


def fate(program, mutant, cases):
    """What becomes of a mutant: killed, timed out, survived or unreached."""
    reaching = [case for case in cases if mutant.number in case.reaches]
    if not reaching:
        return "unreached"
    for batch in batches(reaching):
        command = [str(program), f"-tc={','.join(as_filter(case.name) for case in batch)}", "-aa=1", "-m"]
        code = exit_code(command, {"DRYBUS_MUTANT": str(mutant.number)}, 2 + int(8 * sum(case.seconds for case in batch)))
        if code is None:
            return "timed out"
        if code != 0:
            return "killed"
    return "survived"


# --- telling


def as_diff(source, mutant):
    changed = source.text[:mutant.start] + mutant.instead.encode() + source.text[mutant.end:]
    diff = difflib.unified_diff(source.text.decode().splitlines(), changed.decode().splitlines(), source.name,
                                f"mutant {mutant.number}", n=0, lineterm="")
    return "\n".join(list(diff)[2:])


def key_of(source, mutant):
    """What names a mutant as long as its lines stay the same: file, lines before and after the change."""
    changed = as_diff(source, mutant).splitlines()[1:]
    return source.name, *(line[:1] + " ".join(line[1:].split()) for line in changed)


def known_equivalents():
    """Mutants that do nothing wrong, by their change, with the reason."""
    if not EQUIVALENT.exists():
        return {}
    return {(entry["file"], *entry["change"]): entry["why"] for entry in json.loads(EQUIVALENT.read_text())}


FATES = ("killed", "timed out", "survived", "unreached", "equivalent", "not compiled")


def table(sources, fates):
    print(f"\n{'file':<24}{'mutants':>8}" + "".join(f"{fate:>14}" for fate in FATES) + f"{'score':>10}")
    rows = [(source.name, [fates[mutant.number] for mutant in source.mutants if mutant.number in fates]) for source in sources]
    rows.append(("all", [fate for _, ends in rows for fate in ends]))
    for name, ends in rows:
        if not ends:
            continue
        counts = [ends.count(fate) for fate in FATES]
        judged = sum(counts[:4])
        score = f"{100 * (counts[0] + counts[1]) / judged:.1f} %" if judged else "-"
        print(f"{name:<24}{len(ends):>8}" + "".join(f"{count:>14}" for count in counts) + f"{score:>10}")
    print("score: killed and timed out, of all that compile and are not known to be equivalent")


def main():
    parser = argparse.ArgumentParser(prog="tools/mutate-sim")
    parser.add_argument("files", nargs="*", type=pathlib.Path, metavar="FILE", help="of sim/; all of them unless named")
    parser.add_argument("--sample", type=int, metavar="N", help="only N mutants, drawn evenly")
    parser.add_argument("--seed", type=int, default=1, help="of the sample (1)")
    parser.add_argument("--jobs", type=int, default=os.cpu_count())
    parser.add_argument("--json", type=pathlib.Path, metavar="FILE", help="write each mutant's fate there")
    options = parser.parse_args()
    began = time.monotonic()
    numbers = [1]
    sources = [Source(path, numbers) for path in sorted([*(ROOT / "sim").glob("*.h"), *(ROOT / "sim").glob("*.cpp")])]
    by_name = {source.name: source for source in sources}
    chosen = [str(path.resolve().relative_to(ROOT)) for path in options.files] or list(by_name)
    if unknown := [name for name in chosen if name not in by_name]:
        parser.error(f"{unknown[0]} is no source of sim/")
    mutants = [mutant for name in chosen for mutant in by_name[name].mutants]
    print(f"{len(mutants)} mutants in {len(chosen)} files", flush=True)
    program, dropped = build(sources, options.jobs)
    cases = gather_test_cases(program)
    print(f"compiled without {len(dropped)}; {len(cases)} test cases take {sum(case.seconds for case in cases):.1f} s", flush=True)

    equivalents = known_equivalents()
    fates = {}
    if options.sample:
        # In the order in which they were drawn, so that a run that is stopped early has judged a sample all the same.
        mutants = random.Random(options.seed).sample(mutants, min(options.sample, len(mutants)))
        print(f"a sample of {len(mutants)}, seed {options.seed}")

    def judge(mutant):
        if mutant.number in dropped:
            return mutant, "not compiled"
        if key_of(by_name[mutant.file], mutant) in equivalents:
            return mutant, "equivalent"
        return mutant, fate(program, mutant, cases)

    pool = concurrent.futures.ThreadPoolExecutor(options.jobs)
    try:
        for mutant, end in pool.map(judge, mutants):
            fates[mutant.number] = end
            if end in ("survived", "unreached"):
                print(f"\n{end}: {mutant.file}:{mutant.line}\n{as_diff(by_name[mutant.file], mutant)}", flush=True)
    except KeyboardInterrupt:
        print(f"\nstopped after {len(fates)} of {len(mutants)} mutants")
    pool.shutdown(cancel_futures=True)
    table(sources, fates)
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    print(f"{time.monotonic() - began:.0f} s, of processors {used.ru_utime + used.ru_stime:.0f} s")
    if options.json:
        options.json.write_text(json.dumps([dataclasses.asdict(m) | {"fate": fates[m.number], "change": key_of(by_name[m.file], m)[1:]}
                                            for m in mutants if m.number in fates], indent=1) + "\n")


signal.signal(signal.SIGTERM, signal.default_int_handler)
signal.signal(signal.SIGINT, signal.default_int_handler)
main()
