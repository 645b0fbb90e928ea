"""A hand-out whose words are full of Markdown and HTML, rendered by cmark-gfm: every word has to come out as written."""
import html.parser
import os

from readers import SOURCE, call, check, drybus, folder, need, scenario

need("cmark-gfm")

HOSTILE = '*star* _under_ `tick` <script>alert(1)</script> [link](http://x.example) www.x.example | pipe &amp; ~~gone~~ \\back # 1. $x$'


class Page(html.parser.HTMLParser):
    """The text of each element of interest, and all tags."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.texts, self.cells, self.open = [], {}, [], []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        if tag in ("h1", "p", "td", "th", "code"):
            self.open.append((tag, []))
        if tag == "tr":
            self.cells.append(0)
        if tag in ("td", "th"):
            self.cells[-1] += 1

    def handle_endtag(self, tag):
        if self.open and self.open[-1][0] == tag:
            _, parts = self.open.pop()
            self.texts.setdefault(tag, []).append("".join(parts))

    def handle_data(self, data):
        for _, parts in self.open:
            parts.append(data)


def rendered(path):
    extensions = [word for name in ("table", "strikethrough", "autolink", "tasklist") for word in ("-e", name)]
    return Page(call(["cmark-gfm", "--unsafe", *extensions, path]))


with folder() as here:
    with open(scenario("setup-split"), encoding="utf-8") as text:
        plain = text.read()
    quoted = "'" + HOSTILE.replace("'", "''") + "'"
    lines = []
    for line in plain.splitlines():
        if line.startswith("title:"):
            line = "title: " + quoted
        if line.startswith("  - note:"):
            line = "  - note: " + quoted
        line = line.replace("label: Shop plate", "label: " + quoted)
        lines.append(line)
    source, target = os.path.join(here, "s.yaml"), os.path.join(here, "hand out.md")
    os.symlink(os.path.join(SOURCE, "scenarios", "families"), os.path.join(here, "families"))
    with open(source, "w", encoding="utf-8") as file:
        file.write("\n".join(lines) + "\n")
    drybus("run", source, "--format", "markdown", "-o", target)
    page = rendered(target)
    check(page.texts["h1"] == [HOSTILE], f"the title came out as {page.texts['h1']}")
    check(page.texts["td"].count(HOSTILE) == 2, "the label and the note did not come out as written")
    check(page.tags.count("img") == 1 and os.path.exists(os.path.join(here, "hand out.svg")), "the picture is missing")
    for tag in ("script", "em", "del", "a"):
        check(tag not in page.tags, f"somebody's words became <{tag}>")
    check(page.cells and set(page.cells) <= {3, 4, 6}, f"tables with {set(page.cells)} columns")

    for name in sorted(os.listdir(os.path.join(SOURCE, "scenarios", "training"))):
        if name.endswith(".yaml"):
            markdown = drybus("run", scenario(name[:-5]), "--format", "markdown", codes=(0, 1))
            with open(target, "w", encoding="utf-8") as file:
                file.write(markdown)
            page = rendered(target)
            check(len(page.texts["h1"]) == 1 and set(page.cells) <= {3, 4, 6}, f"{name}: {page.texts['h1']}, {set(page.cells)}")
print("cmark-gfm shows every word of a hostile hand-out as it was written, and every training scenario's tables whole")
