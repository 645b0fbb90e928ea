"""The sheets of every lesson as poppler reads them: one page each, A4 or letter; a pupil's has the questions and not an answer."""
import json
import os
import re

from readers import SOURCE, call, check, drybus, folder, need

need("pdfinfo", "pdftotext", "weasyprint")

SIZES = {"a4": (595.3, 841.9), "letter": (612.0, 792.0)}  # points: ISO 216, ANSI/ASME Y14.1
CAUTION = "Isolate at the supply, lock off and prove dead"


def words(text):
    return " ".join(text.split())


def read(path, paper, name):
    told = call(["pdfinfo", path])
    pages = int(re.search(r"Pages: +(\d+)", told).group(1))
    check(pages == 1, f"{name}: {pages} pages")
    width, height = map(float, re.search(r"Page size: +([\d.]+) x ([\d.]+)", told).groups())
    expected = SIZES[paper]
    check(abs(width - expected[0]) < 1 and abs(height - expected[1]) < 1, f"{name}: {width} x {height} is no {paper}")
    return words(call(["pdftotext", "-layout", path, "-"]))


lessons = sorted(os.listdir(os.path.join(SOURCE, "scenarios", "lessons")))
check(len(lessons) >= 10, "there are lessons")
with folder() as here:
    for i, file in enumerate(lessons):
        paper = "letter" if i % 3 == 2 else "a4"
        lesson = os.path.join(SOURCE, "scenarios", "lessons", file)
        sheet, answers = os.path.join(here, "sheet.pdf"), os.path.join(here, "answers.pdf")
        told = json.loads(drybus("teach", lesson, "--sheet", sheet, "--answer-sheet", answers, "--paper", paper,
                                 "--format", "json"))
        pupils, trainers = read(sheet, paper, f"{file}, pupil's"), read(answers, paper, f"{file}, answers")
        check("Name" in pupils and "Date" in pupils, f"{file}: nowhere to write a name")
        check(told["title"] not in pupils and words(told["about"]) not in pupils, f"{file}: its title tells")
        check(told["title"] in trainers, f"{file}: the answers have no title")
        asked = " ".join(words(question["ask"]) for question in told["questions"])
        for word in ("setup-split", "out of step", "time-out ran", "assign 2", "Hint:", "powers up"):
            check(word not in pupils or word in asked, f"{file}: a pupil's sheet says '{word}'")
        for question in told["questions"]:
            ask = words(question["ask"])
            check(ask[:40] in pupils, f"{file}: '{ask}' is not asked")
            check(ask[:40] in trainers, f"{file}: '{ask}' is not on the answers")
            if question["because"]:
                because = words(question["because"])[:40]
                check(because in trainers and because not in pupils, f"{file}: '{because}'")
            if question["kind"] not in ("choice", "press", "place"):
                right = words(question["right"][0])
                check(right in trainers, f"{file}: the answers lack '{right}'")
        key = re.search(r"sheet ([0-9a-f]{6})", pupils)
        check(key and key.group(0) in trainers, f"{file}: the two sheets cannot be matched")
        check((CAUTION in pupils) == (CAUTION in trainers) or CAUTION in trainers, f"{file}: the caution")

    # Where hands come near wiring the caution is on both.
    lesson = os.path.join(SOURCE, "scenarios", "lessons", "zone-nought.yaml")
    sheet = os.path.join(here, "caution.pdf")
    drybus("teach", lesson, "--sheet", sheet)
    check(CAUTION in read(sheet, "a4", "zone-nought"), "a lesson with a cover off has no caution")
print("poppler finds every lesson's sheets on one page each, with every question, and no answer on a pupil's")
