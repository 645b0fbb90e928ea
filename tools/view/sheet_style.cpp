#include "tools/view/sheet_style.h"

#include <fmt/format.h>

#include "model/words/words.h"
#include "tools/base/xml.h"

namespace drybus::tools {

using model::tr;
using model::tr_as;

namespace {

constexpr std::string_view rules = R"css(
* { box-sizing: border-box; }
body { font: 9pt/1.25 sans-serif; color: #000; background: #fff; max-width: 186mm; margin: 0 auto; }
h1 { font-size: 15pt; margin: 0 0 1mm; }
h2 { font-size: 11.5pt; margin: 5mm 0 1.5mm; border-bottom: 1.5pt solid #000; break-after: avoid; }
p { margin: 0 0 1.5mm; orphans: 2; widows: 2; }
.lead { break-after: avoid; }
table + p { margin-top: 2mm; }
.caution { border: 2pt solid #000; padding: 2mm 3mm; margin: 2mm 0; font-weight: bold; break-inside: avoid; }
.caution p:last-child { margin: 0; }
table { border-collapse: collapse; width: 100%; }
thead { display: table-header-group; }
th { text-align: left; border-bottom: 1pt solid #000; }
th, td { padding: 0.5mm 1.2mm; vertical-align: top; }
td { border-bottom: 0.3pt solid #777; }
tr, .plate, .together { break-inside: avoid; }
th.room { padding-top: 2mm; font-size: 10pt; }
.plate { display: inline-block; vertical-align: top; border: 0.6pt solid #000; padding: 1.5mm; width: 59mm;
  margin: 0 1mm 2mm 0; font-size: 8.5pt; }
.plate .bank { display: inline-block; margin-right: 2mm; text-align: left; }
.plate svg { height: 9mm; width: auto; }
.address, .number { white-space: nowrap; }
.address { font-weight: bold; }
.number { text-align: right; }
.do { width: 62%; }
.seen { width: 32%; }
.box { display: inline-block; width: 3.5mm; height: 3.5mm; border: 0.8pt solid #000; }
.small { font-size: 8pt; }
.sign { margin-top: 6mm; break-inside: avoid; break-before: avoid; }
.sign td { border: 0; padding-top: 7mm; }
.sign .line { border-bottom: 0.8pt solid #000; width: 45mm; }
svg text { font-family: sans-serif; fill: #000; }
)css";

}  // namespace

std::string sheet_style(bool letter) {
  return fmt::format(
      "\n@page {{ size: {}; margin: 12mm 12mm 14mm; @bottom-right {{ font: 8.5pt sans-serif; content: \"{}\" "
      "counter(page) \"{}\" counter(pages); }} }}{}",
      letter ? "letter" : "A4", tr_as("page of a sheet", "page "), tr_as("page of a sheet", " of "), rules);
}

std::string page_language() {
  return tr_as("code of this language", "en");
}

void RoomRows::add(const std::string& room, const std::string& row) {
  const bool heads = !begun_ || room != room_;
  begun_ = true;
  room_ = room;
  if (heads) {
    if (open_) html_ += "</tbody>\n";
    html_ += fmt::format(
        "<tbody class=\"together\"><tr class=\"room\"><th class=\"room\" "
        "colspan=\"{}\">{}</th></tr>\n{}</tbody>\n",
        columns_, xml_escaped(room), row);
  } else {
    html_ += open_ ? row : "<tbody>" + row;
  }
  open_ = !heads;
}

std::string sign_lines(const std::string& what) {
  return fmt::format(
      "<table class=\"sign\"><tr><td>{}</td><td class=\"line\"></td><td>{}</td><td "
      "class=\"line\"></td></tr>\n"
      "<tr><td>{}</td><td class=\"line\"></td><td>{}</td><td "
      "class=\"line\"></td></tr></table>\n",
      xml_escaped(what), tr("Date"), tr("Name in capitals"), tr("Signed"));
}

}  // namespace drybus::tools
