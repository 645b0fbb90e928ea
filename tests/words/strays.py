"""String literals of C++ sources that read like words for people and stand outside the catalogue.

usage: strays.py SOURCE [ROOM...]      e.g. strays.py . model/hunt tools/view
"""
import pathlib
import re
import sys

LITERAL = r'(?:R"(\w*)\((?:.|\n)*?\)\1"|"(?:[^"\\\n]|\\.)*")'
# Calls whose texts are in the catalogue, and those that nobody on site or at a desk reads.
TOLD = re.compile(r"\b(?:tr|tr_as|msg|msg_as|plural|static_assert|assert|logic_error|DRYBUS_\w+|include|getenv)"
                  r"\s*(?:<[^<>]*>)?\s*[({]?\s*$")
# Two words beside each other, or a word beside a value.
WORDS = re.compile(r"[A-Za-z]{2,}[,;:.]? (?:\{[^}]*\} ?)*[A-Za-z(]|[A-Za-z]{2,} \{|\{[^}]*\} [A-Za-z]{2,}")
ROOMS = ["model", "tools"]
ANY = "*"


def without_comments(text):
    def blank(match):
        return match.group(0) if match.group(0)[0] in "\"R'" else re.sub(r"[^\n]", " ", match.group(0))
    return re.sub(LITERAL + r"|'(?:[^'\\\n]|\\.)*'|//[^\n]*|/\*(?:.|\n)*?\*/", blank, text)


def opener(code, at):
    """What stands before the bracket that holds this place, where only literals and commas stand between: plural("a", "b"."""
    before = code[:at].rstrip()
    while True:
        shorter = re.sub(r'"(?:[^"\\\n]|\\.)*"\s*,?$', "", before).rstrip()
        if shorter == before:
            return before
        before = shorter


def strays_in(text):
    """(line, text) of each."""
    code = without_comments(text)
    found = []
    for match in re.finditer(r"(?:" + LITERAL + r"\s*)+", code):
        whole = match.group(0)
        literal = whole.split("\n")[0].strip() if whole.startswith("R") else "".join(re.findall(r'"((?:[^"\\\n]|\\.)*)"', whole))
        begin_of_line = code[code.rfind("\n", 0, match.start()) + 1:match.start()].lstrip()
        if (WORDS.search(literal.replace("\\n", " ")) and not begin_of_line.startswith("#")
                and not TOLD.search(opener(code, match.start()))):
            found.append((code.count("\n", 0, match.start()) + 1, literal))
    return found


def exceptions(path):
    """{(path, text or ANY)}: what rightly stands outside; each with its reason."""
    known = set()
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        if not line or line.startswith("#"):
            continue
        parts = line.split("\t")
        if len(parts) != 3 or not parts[2].strip():
            sys.exit(f"{path.name}:{number}: expected a path, a text and a reason, with tabs between")
        known.add((parts[0], parts[1]))
    return known


def strays(source, rooms=None, known=frozenset()):
    """"path:line: text" of all that is no exception, and the exceptions that nothing needs."""
    found, met = [], set()
    for room in rooms or ROOMS:
        place = source / room
        for path in sorted(place.rglob("*") if place.is_dir() else [place]):
            if path.suffix not in (".cpp", ".h"):
                continue
            name = str(path.relative_to(source))
            for line, text in strays_in(path.read_text(encoding="utf-8")):
                excuse = next((each for each in ((name, ANY), (name, text)) if each in known), None)
                if excuse is None:
                    found.append(f"{name}:{line}: {text}")
                else:
                    met.add(excuse)
    return found, sorted(known - met)


def main():
    found, _ = strays(pathlib.Path(sys.argv[1]).resolve(), sys.argv[2:])
    for each in found:
        print(each)
    return bool(found)


if __name__ == "__main__":
    sys.exit(main())
