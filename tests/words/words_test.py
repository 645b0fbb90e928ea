#!/usr/bin/env python3
"""The texts of the catalogue: none is left out of it, each language has all, and says what is meant with the same placeholders.

usage: words_test.py SOURCE
"""
import pathlib
import re
import subprocess
import sys

import strays

SOURCE = pathlib.Path(sys.argv[1]).resolve()
WORDS = SOURCE / "tools/words"
PAGE = SOURCE / "tools/panel/page"
LESSON = SOURCE / "tools/lesson/page"

# Where such words do stand for people: as a child of an element, as a label, as a title of a dialog.
FOR_PEOPLE = [
    re.compile(r"""'(?:aria-label|placeholder|title|aria-valuetext)':?\s*:\s*(['`])(.*?)\1"""),
    re.compile(r"""\b(?:placeholder|title): (['`])(.*?)\1"""),
    re.compile(r"""\}, (['`])([^'`]*[A-Za-z][^'`]*)\1[,)]"""),
    re.compile(r"""(?:openDialog|unseenWords|behindCurtain|complain|new Error)\((['`])([^'`]*[A-Za-z][^'`]*)\1"""),
    re.compile(r"""setText\([^,()]+(?:\([^()]*\))?, (['`])([^'`]*[A-Za-z]{2}[^'`]*)\1\)"""),
    re.compile(r"""[?:] (['`])([^'`]*[A-Za-z]{2,} [A-Za-z]{2,}[^'`]*)\1"""),
]
# What these find and nobody is told, or what stands the same in every language.
EXCEPTIONS = {
    "look", "deaf",  # ids
    "load:${this.area}",
    "no plural formula: ${formula}",  # a fault of ours
    "${title} – drybus", "${told.name} – drybus", "drybus run ${saved.name}",
}


def fail(message):
    sys.exit(f"words: {message}")


def run(*command):
    done = subprocess.run([str(word) for word in command], cwd=SOURCE, capture_output=True, text=True, check=False)
    return done.returncode, done.stdout, done.stderr


def entries(path):
    """(context, text, plural, translations) of a .po file, without its header."""
    text = path.read_text(encoding="utf-8")
    found = []
    for block in text.split("\n\n"):
        def joined(key, block=block):
            match = re.search(rf'^{key} ((?:"(?:[^"\\]|\\.)*"\n?)+)', block, re.M)
            if match is None:
                return None
            return "".join(re.findall(r'"((?:[^"\\]|\\.)*)"', match.group(1))).replace('\\"', '"').replace("\\n", "\n")
        written = joined("msgid")
        if not written:
            continue
        plural = joined("msgid_plural")
        told = [joined("msgstr")] if plural is None else [joined(rf"msgstr\[{form}\]") for form in range(6)]
        found.append((joined("msgctxt"), written, plural, [each for each in told if each is not None], "#, fuzzy" in block))
    return found


def placeholders(text):
    """Names, or places in order: {} {} is {0} {1}."""
    named = re.findall(r"\{(\w*)(?::[^}]*)?\}", text)
    return {name or str(place) for place, name in enumerate(named)}


def languages_are_whole():
    pot = entries(WORDS / "drybus.pot")
    if len(pot) < 600:
        fail(f"only {len(pot)} texts were found in the sources")
    for po in sorted(WORDS.glob("*.po")):
        code, _, errors = run("msgfmt", "--check", "-o", "/dev/null", po)
        if code != 0:
            fail(errors)
        known = {(context, written): (plural, told, fuzzy) for context, written, plural, told, fuzzy in entries(po)}
        for context, written, plural, _, _ in pot:
            if (context, written) not in known:
                fail(f"{po.name} lacks: {written}")
            _, told, fuzzy = known[(context, written)]
            if fuzzy or not all(told):
                fail(f"{po.name} does not say: {written}")
            allowed = [placeholders(written)] + ([placeholders(plural)] if plural else [])
            for text in told:
                if placeholders(text) not in allowed:
                    fail(f"{po.name}: other placeholders: {written!r} is {text!r}")
                if text[:1].isspace() != written[:1].isspace() or text[-1:].isspace() != written[-1:].isspace():
                    fail(f"{po.name}: other blanks at an end: {written!r} is {text!r}")
        print(f"{po.name}: {len(known)} texts")
    return {written for _, written, _, _, _ in pot}


def stray_texts(path):
    found = []
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        code = re.sub(r"\s*//.*$", "", line) if not re.search(r"""['"`].*//""", line) else line
        code = re.sub(r"^import .*$", "", code)
        # Classes are for the style sheet. What is in the catalogue is taken out, too.
        code = re.sub(r"""\bclass: (?:[^,{}'`]*\? )?(?:'[^']*'|`[^`]*`)(?: : '[^']*')?""", "", code)
        code = re.sub(r"""\b(?:tr|msg)\((?:'(?:[^'\\]|\\.)*'|"(?:[^"\\]|\\.)*")(?:\s*\+)?""", "tr(", code)
        code = re.sub(r"""\bplural\('(?:[^'\\]|\\.)*',?\s*(?:'(?:[^'\\]|\\.)*')?""", "plural(", code)
        code = re.sub(r"""\btrAs\('[^']*', '[^']*'\)""", "tr()", code)
        for pattern in FOR_PEOPLE:
            for match in pattern.finditer(code):
                text = match.group(2)
                # Of a template what stands beside its values.
                plain = re.sub(r"\$\{[^}]*\}", "", text)
                if text in EXCEPTIONS or not re.search(r"[A-Za-z]{2}", plain):
                    continue
                found.append(f"{path.relative_to(SOURCE)}:{number}: {text}")
    return sorted(set(found))


def nothing_stands_outside(known):
    stray = [each for folder in (PAGE, LESSON) for path in sorted(folder.glob("*.js")) for each in stray_texts(path)]
    if stray:
        fail("texts that are not in the catalogue (tr, plural, trAs), or are none and belong into the exceptions of this test:\n" + "\n".join(stray))
    html = re.sub(r"<(svg|script|style)\b.*?</\1>", "", (PAGE / "index.html").read_text(encoding="utf-8"), flags=re.S)
    html = re.sub(r"<head>.*?</head>", "", html, flags=re.S)
    texts = [text.strip() for text in re.findall(r">([^<>]*[A-Za-z][^<>]*)<", html)] + re.findall(r'aria-label="([^"]*)"', html)
    missing = sorted({text for text in texts if text not in known} - {"drybus"})
    if missing:
        fail(f"index.html says what page_words.js has not: {missing}")
    if len(texts) < 10:
        fail("index.html was not understood")


def the_program_says_nothing_outside():
    """All that model and tools put into words, but for what exceptions.txt lists with a reason."""
    found, needless = strays.strays(SOURCE, known=strays.exceptions(SOURCE / "tests/words/exceptions.txt"))
    if found:
        fail("texts that are not in the catalogue (tr, plural, msg), or belong into tests/words/exceptions.txt:\n" + "\n".join(found))
    if needless:
        fail("exceptions.txt lists what nothing needs any more:\n" + "\n".join("\t".join(each) for each in needless))


def findings_have_names():
    header = (SOURCE / "model/findings/finding_ids.h").read_text(encoding="utf-8")
    names = re.search(r"FindingId, std::uint8_t, ([^)]*)\)", header).group(1)
    listed = re.findall(r"msg\('([a-z-]+)'\)", (PAGE / "names.js").read_text(encoding="utf-8").split("export const patternName")[0])
    if [name.strip().replace("_", "-") for name in names.split(",")] != listed:
        fail("names.js does not list the findings that the model has")


def the_lint_can_say_no(tmp):
    global SOURCE
    path = tmp / "a.js"
    for line in ("element('p', {}, 'nobody is here')", "{ 'aria-label': 'How far' }", "x ? 'the clock stands' : ''", "desk.complain('Not now.')"):
        path.write_text(line + "\n", encoding="utf-8")
        before, SOURCE = SOURCE, tmp
        found = stray_texts(path)
        SOURCE = before
        if len(found) != 1:
            fail(f"the lint did not see {line}: {found}")
    the_search_for_strays_can_say_no(tmp)


# C++ and how many strays are in it.
PLANTED = [
    ('fmt::format("{} {}", one, other)', 0),
    ('tr("{} heard it", who)', 0),
    ('plural("{} lamp is on", "{} lamps are on", n, n)', 0),
    ('options.add("seed", msg("instead of its own").data())', 0),
    ('// "nobody is here"\n', 0),
    ('#include "a file of ours"\n', 0),
    ('fmt::format(\n    "{} heard "\n    "it", who)', 1),
    ('throw Unusable{"nobody is here"}', 1),
    ('return lit ? "it is lit" : tr("it is dark");', 1),
    ('R"(nobody is here)"', 1),
]


def the_search_for_strays_can_say_no(tmp):
    (tmp / "model").mkdir()
    (tmp / "tools").mkdir()
    path = tmp / "tools/a.cpp"
    for code, count in PLANTED:
        path.write_text(code + "\n", encoding="utf-8")
        found, _ = strays.strays(tmp)
        if len(found) != count:
            fail(f"the search for strays is mistaken about {code}: {found}")
    path.write_text('throw Unusable{"nobody is here"}\n', encoding="utf-8")
    for known, expected in (({("tools/a.cpp", "nobody is here")}, ([], [])), ({("tools/a.cpp", strays.ANY)}, ([], [])),
                            ({("tools/b.cpp", strays.ANY)}, (["tools/a.cpp:1: nobody is here"], [("tools/b.cpp", strays.ANY)]))):
        if strays.strays(tmp, known=known) != expected:
            fail(f"the search for strays does not heed its exceptions: {known}")


def main():
    code, _, errors = run(WORDS / "update", "--check")
    if code != 0:
        fail(errors)
    nothing_stands_outside(languages_are_whole())
    the_program_says_nothing_outside()
    findings_have_names()
    import tempfile
    with tempfile.TemporaryDirectory() as folder:
        the_lint_can_say_no(pathlib.Path(folder))


if __name__ == "__main__":
    main()
