#!/usr/bin/env python3
"""Makes the handbook, a site of plain pages: tools/handbook/*.md, the commands as the program tells them, and the schemas.

usage: build.py DRYBUS SOURCE OUT     needs cmark-gfm
"""
import html
import json
import pathlib
import re
import subprocess
import sys
import tempfile

STYLE = """
body { max-width: 52rem; margin: 2rem auto; padding: 0 1rem; font: 1rem/1.55 sans-serif; color: #1d1d1d; background: #fdfdfb; }
nav { border-bottom: 1px solid #9994; margin-bottom: 1.5rem; padding-bottom: .6rem; }
nav a { margin-right: 1rem; white-space: nowrap; }
nav a[aria-current] { font-weight: bold; color: inherit; text-decoration: none; }
a { color: #0a5a8c; }
pre { overflow-x: auto; padding: .8rem; background: #9992; }
code { font-size: .92em; }
table { border-collapse: collapse; display: block; overflow-x: auto; }
th, td { text-align: left; vertical-align: top; padding: .25rem .8rem .25rem 0; border-bottom: 1px solid #9993; }
@media (prefers-color-scheme: dark) { body { color: #e4e4e0; background: #1b1c1e; } a { color: #8cc4ea; } }
"""
ORDER = ["index", "install", "trainer", "support", "firmware", "debugger", "cluster", "commands", "schemas"]


def title_of(text):
    return re.search(r"^# (.*)$", text, re.M).group(1)


def type_of(schema):
    if "$ref" in schema:
        return schema["$ref"].rsplit("/", 1)[-1]
    if "enum" in schema:
        return ", ".join(f"`{word}`" for word in schema["enum"])
    if "const" in schema:
        return f"`{schema['const']}`"
    kinds = [type_of(each) for word in ("oneOf", "anyOf") for each in schema.get(word, [])]
    if kinds:
        return " or ".join(dict.fromkeys(kind for kind in kinds if kind))
    kind = schema.get("type", "")
    return " or ".join(kind) if isinstance(kind, list) else kind


def cell(text):
    return str(text).replace("|", "\\|").replace("\n", " ").replace("<", "&lt;")


def key_rows(schema, above=""):
    """A row for each key, those of objects within it included: `plate.setup.hold`."""
    for key, value in schema.get("properties", {}).items():
        if not isinstance(value, dict):
            continue
        needed = ", needed" if key in schema.get("required", []) else ""
        yield f"| `{cell(above + key)}` | {cell(type_of(value))}{needed} | {cell(value.get('description', ''))} |"
        yield from key_rows(value, f"{above}{key}.")
    for word, name in (("additionalProperties", "NAME"), ("items", "each")):
        if isinstance(schema.get(word), dict) and above:
            yield from key_rows(schema[word], f"{above}{name}.")


def tables_of(schema):
    """A table for the file itself, and one for each definition that has keys."""
    for name, each in [("", schema), *schema.get("definitions", {}).items(), *schema.get("$defs", {}).items()]:
        rows = list(key_rows(each))
        if rows:
            text = [f"### {name}", ""] if name else []
            text += [each["description"], ""] if name and each.get("description") else []
            yield "\n".join([*text, "| key | is | means |", "| --- | --- | --- |", *rows, ""])


def schema_page(source):
    text = ["# Files", "", "Made from the schemas in `scenarios/schema`, which editors read, too. Every quantity carries its unit.", ""]
    for path in sorted((source / "scenarios/schema").glob("*.schema.json")):
        schema = json.loads(path.read_text())
        text += [f"## {schema.get('title', path.name)}", "", schema.get("description", ""), f"\n`{path.name}`\n"]
        text += tables_of(schema)
    return "\n".join(text)


def rendered(markdown):
    done = subprocess.run(["cmark-gfm", "-e", "table", "-e", "autolink"], input=markdown, capture_output=True, text=True, check=True)
    return done.stdout


def with_anchors(page):
    """Headings that can be linked to."""
    def anchor(found):
        words = re.sub(r"<[^>]*>|&\w+;", "", found.group(2)).lower()
        return f'<h{found.group(1)} id="{re.sub(r"[^a-z0-9]+", "-", words).strip("-")}">{found.group(2)}</h{found.group(1)}>'
    return re.sub(r"<h([1-6])>(.*?)</h\1>", anchor, page)


def page_of(name, pages):
    links = " ".join(
        f'<a href="{each}.html"{" aria-current=" + chr(34) + "page" + chr(34) if each == name else ""}>'
        f"{html.escape(title_of(pages[each]))}</a>" for each in ORDER)
    body = re.sub(r'href="([a-z]+)\.md(#[^"]*)?"', r'href="\1.html\2"', with_anchors(rendered(pages[name])))
    return (f'<!doctype html>\n<html lang="en">\n<meta charset="utf-8">\n<meta name="viewport" content="width=device-width">\n'
            f"<title>{html.escape(title_of(pages[name]))} - drybus</title>\n<style>{STYLE}</style>\n"
            f"<nav>{links}</nav>\n<main>\n{body}</main>\n</html>\n")


def broken_links(site):
    for name, page in site.items():
        for target, anchor in re.findall(r'href="(?!https?:)([a-z]*\.?(?:html)?)(#[^"]*)?"', page):
            other = site.get(target.removesuffix(".html") or name)
            if other is None or (anchor and f'id="{anchor[1:]}"' not in other):
                yield f"{name}: nothing is at {target}{anchor}"


def main():
    drybus, source, out = (pathlib.Path(word).resolve() for word in sys.argv[1:4])
    pages = {path.stem: path.read_text() for path in sorted((source / "tools/handbook").glob("*.md"))}
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([drybus, "reference", "pages", folder], check=True)
        pages |= {path.stem: path.read_text() for path in pathlib.Path(folder).glob("*.md")}
    pages["schemas"] = schema_page(source)
    if set(pages) != set(ORDER):
        sys.exit(f"pages {sorted(set(pages) ^ set(ORDER))} have no place in the order, or are missing")
    site = {name: page_of(name, pages) for name in ORDER}
    wrong = list(broken_links(site))
    if wrong:
        sys.exit("\n".join(wrong))
    out.mkdir(parents=True, exist_ok=True)
    for name, page in site.items():
        (out / f"{name}.html").write_text(page)
    print(f"{len(site)} pages in {out}")


if __name__ == "__main__":
    main()
