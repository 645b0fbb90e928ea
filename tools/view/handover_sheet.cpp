#include "tools/view/handover_sheet.h"

#include <fmt/format.h>

#include <filesystem>

#include "model/words/words.h"
#include "tools/base/xml.h"
#include "tools/view/sheet_style.h"

namespace drybus::tools {

using model::tr;

namespace {

std::string cautions_html(const HandoverReport& report) {
  std::string html = "<div class=\"caution\">";
  for (const std::string& caution : handover_cautions(report))
    html += fmt::format("<p>{}</p>", xml_escaped(caution));
  return html + "</div>\n";
}

std::string row_html(const HandoverLine& line) {
  if (line.number == 0)
    return fmt::format("<tr><td></td><td></td><td colspan=\"2\">{}</td></tr>\n", xml_escaped(line.todo));
  return fmt::format(
      "<tr><td><span class=\"box\"></span></td><td class=\"number\">{}.</td><td>{}</td><td>{}</td></tr>\n",
      line.number, xml_escaped(line.todo), xml_escaped(line.seen));
}

std::string lines_html(const HandoverReport& report) {
  RoomRows rows{4};
  for (const HandoverLine& line : report.lines) rows.add(line.place, row_html(line));
  return fmt::format(
      "<h2>{}</h2>\n<p class=\"lead\">{}</p>\n"
      "<table><thead><tr><th></th><th></th><th>{}</th><th>{}</th></tr></thead>\n{}</table>\n",
      tr("The round"),
      tr("Tick a line when what is to be seen was seen. Where it was not, leave the box empty and write "
         "beside it what was seen."),
      model::tr_as("column", "Do"), model::tr_as("column", "See"), rows.html());
}

/// Room by room, in the order of the site.
std::string schedule_html(const HandoverReport& report) {
  const model::Site& site = report.built.site;
  RoomRows rows{2};
  for (model::PlaceId place = 0; place < site.places.size(); ++place) {
    for (const model::ModuleSpec& module : site.modules) {
      if (module.neighbour || !module.intended || module.place != place) continue;
      const std::string title =
          module.label.empty() ? module.name : fmt::format("{}, {}", module.name, module.label);
      rows.add(site.places[place].name, fmt::format("<tr><td>{}</td><td class=\"address\">{}</td></tr>\n",
                                                    xml_escaped(title), to_string(*module.intended)));
    }
  }
  return fmt::format("<h2>{}</h2>\n<table><thead><tr><th>{}</th><th>{}</th></tr></thead>\n{}</table>\n",
                     tr("As it is built"), tr("Module"), tr("Address"), rows.html());
}

}  // namespace

std::string handover_sheet(const HandoverReport& report, bool letter) {
  const std::string title = xml_escaped(std::filesystem::path{report.plan.name}.stem().string());
  std::string html = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"{4}\"><head><meta charset=\"utf-8\"><title>{0}</title>\n"
      "<style>{1}</style></head>\n<body>\n<h1>{0}</h1>\n<p>{2} {3}</p>\n",
      tr("Handover: {}", title), sheet_style(letter), xml_escaped(report.plan.loaded.about),
      tr("The round takes {}.", about_text(report.round.takes)), page_language());
  html += cautions_html(report) + lines_html(report);
  html += sign_lines(tr("Every line is ticked; the site is handed over"));
  html += schedule_html(report) + fmt::format("<h2>{}</h2>\n", tr("What the round proves"));
  for (const std::string& sentence : proof_sentences(report))
    html += fmt::format("<p>{}</p>\n", xml_escaped(sentence));
  return html + "</body></html>\n";
}

}  // namespace drybus::tools
