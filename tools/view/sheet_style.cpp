#include "tools/view/sheet_style.h"

#include <fmt/format.h>

#include "tools/base/xml.h"

namespace drybus::tools {

namespace {

constexpr std::string_view rules = R"css(
* { box-sizing: border-box; }
body { font: 10pt/1.35 sans-serif; color: #000; background: #fff; max-width: 186mm; margin: 0 auto; }
h1 { font-size: 16pt; margin: 0 0 1mm; }
h2 { font-size: 12pt; margin: 6mm 0 2mm; border-bottom: 1.5pt solid #000; break-after: avoid; }
p { margin: 0 0 2mm; orphans: 2; widows: 2; }
table + p { margin-top: 2mm; }
.caution { border: 2pt solid #000; padding: 2.5mm 3mm; margin: 3mm 0; font-weight: bold; break-inside: avoid; }
.caution p:last-child { margin: 0; }
table { border-collapse: collapse; width: 100%; }
thead { display: table-header-group; }
th { text-align: left; border-bottom: 1pt solid #000; }
th, td { padding: 0.8mm 1.5mm; vertical-align: top; }
td { border-bottom: 0.3pt solid #777; }
tr, .plate { break-inside: avoid; }
th.room { padding-top: 3mm; font-size: 11pt; }
tr.room, tr.room + tr { break-after: avoid; }
tr:last-child { break-before: avoid; }
.plates { display: flex; flex-wrap: wrap; gap: 3mm; }
.plate { border: 0.6pt solid #000; padding: 2mm; min-width: 56mm; }
.plate .bank { display: inline-block; margin-right: 4mm; text-align: left; }
.address { font-weight: bold; white-space: nowrap; }
.number { text-align: right; white-space: nowrap; }
.box { display: inline-block; width: 4mm; height: 4mm; border: 0.8pt solid #000; }
.small { font-size: 8.5pt; }
.sign { margin-top: 8mm; break-inside: avoid; break-before: avoid; }
.sign td { border: 0; padding-top: 9mm; }
.sign .line { border-bottom: 0.8pt solid #000; width: 45mm; }
svg text { font-family: sans-serif; fill: #000; }
)css";

}  // namespace

std::string sheet_style(bool letter) {
  return fmt::format(
      "\n@page {{ size: {}; margin: 14mm 12mm 16mm; @bottom-right {{ font: 8.5pt sans-serif; content: \"page "
      "\" "
      "counter(page) \" of \" counter(pages); }} }}{}",
      letter ? "letter" : "A4", rules);
}

std::string sign_lines(const std::string& what) {
  return fmt::format(
      "<table class=\"sign\"><tr><td>{}</td><td class=\"line\"></td><td>Date</td><td "
      "class=\"line\"></td></tr>\n"
      "<tr><td>Name in capitals</td><td class=\"line\"></td><td>Signed</td><td "
      "class=\"line\"></td></tr></table>\n",
      xml_escaped(what));
}

}  // namespace drybus::tools
