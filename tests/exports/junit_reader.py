"""Results of drybus check as JUnit XML, held against a schema by xmllint."""
import os
import re
import xml.etree.ElementTree

from readers import SOURCE, call, check, drybus, folder, need, scenario

need("xmllint")
SCHEMA = os.path.join(SOURCE, "tests", "data", "junit.xsd")


def valid(path):
    call(["xmllint", "--noout", "--schema", SCHEMA, path])


with folder() as here:
    with open(scenario("setup-split"), encoding="utf-8") as text:
        good = text.read()
    os.symlink(os.path.join(SOURCE, "scenarios", "families"), os.path.join(here, "families"))
    files = {
        "good.yaml": good,
        "fails <&\"'>.yaml": re.sub(r"M1\.address: 23/4/1", "M1.address: 9/9/9", good),
        "broken.yaml": good.replace("script:", "scripp:"),
        "bell.yaml": good.replace("title: ", 'title: "\\a\\x85" #'),
    }
    for name, text in files.items():
        with open(os.path.join(here, name), "w", encoding="utf-8") as file:
            file.write(text)
    result = os.path.join(here, "result.xml")
    drybus("check", here, "--junit", result, codes=(1, 2))
    valid(result)
    suite = xml.etree.ElementTree.parse(result).getroot()[0]
    check(suite.get("failures") == "1", f"{suite.attrib}")
    check(int(suite.get("errors")) >= 1 and int(suite.get("tests")) == 4, f"{suite.attrib}")
    failure = suite.find("testcase/failure")
    check("in fact 23/4/1" in failure.text and "replay: drybus run" in failure.text, failure.text)
    check(any("unknown key 'scripp'" in error.text for error in suite.iter("error")), "the broken file's error is missing")

    every = os.path.join(here, "every.xml")
    drybus("check", os.path.join(SOURCE, "scenarios"), "--junit", every, codes=(0, 1, 2))
    valid(every)

    # The schema itself can say no.
    with open(result, encoding="utf-8") as file:
        bad = file.read().replace('tests="4"', 'tests="four"')
    with open(result, "w", encoding="utf-8") as file:
        file.write(bad)
    call(["xmllint", "--noout", "--schema", SCHEMA, result], codes=(3,))
count = len(xml.etree.ElementTree.fromstring("<a/>")) + int(suite.get("tests"))
print(f"xmllint takes the results of {count} scenarios, one of which fails and one of which is broken")
