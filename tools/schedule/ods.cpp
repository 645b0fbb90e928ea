#include "tools/schedule/ods.h"

#include <zip.h>

#include <algorithm>
#include <memory>
#include <pugixml.hpp>

#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"

namespace drybus::tools {

using model::tr;

namespace {

using pugi::xml_node;

struct CloseArchive {
  void operator()(zip_t* archive) const { zip_discard(archive); }
};
struct CloseEntry {
  void operator()(zip_file_t* entry) const { zip_fclose(entry); }
};

/// The text of content.xml; empty when the archive has none that can be read.
std::string content_xml(const std::string& path, std::string_view bytes) {
  zip_error_t error;
  zip_error_init(&error);
  zip_source_t* source = zip_source_buffer_create(bytes.data(), bytes.size(), 0, &error);
  const std::unique_ptr<zip_t, CloseArchive> archive{
      source == nullptr ? nullptr : zip_open_from_source(source, ZIP_RDONLY, &error)};
  if (!archive) {
    if (source != nullptr) zip_source_free(source);
    const std::string why = zip_error_strerror(&error);
    zip_error_fini(&error);
    throw Unusable{tr("{}: this archive cannot be read: {}", path, why)};
  }
  zip_error_fini(&error);
  const std::unique_ptr<zip_file_t, CloseEntry> entry{zip_fopen(archive.get(), "content.xml", 0)};
  if (!entry) throw Unusable{tr("{}: this is no OpenDocument spreadsheet; save it as .ods or .csv", path)};
  // What the archive says of its size need not be true: count what comes.
  std::string text;
  std::vector<char> buffer(std::size_t{1} << 16);
  for (;;) {
    const zip_int64_t got = zip_fread(entry.get(), buffer.data(), buffer.size());
    if (got < 0) throw Unusable{tr("{}: content.xml in it is damaged", path)};
    if (got == 0) return text;
    text.append(buffer.data(), static_cast<std::size_t>(got));
    if (text.size() > max_unfolded_bytes)
      throw Unusable{tr("{}: its content unfolds to more than {} MB", path, max_unfolded_bytes >> 20)};
  }
}

std::size_t repeated(const xml_node& node, const char* attribute) {
  return std::max<std::size_t>(1, node.attribute(attribute).as_uint(1));
}

/// The paragraphs of a cell, with the text of what is within them. Comments on a cell are none of its text.
void add_text(const xml_node& node, std::string& text, int depth) {
  constexpr int deepest = 20;
  for (const xml_node& child : node.children()) {
    const std::string_view name = child.name();
    if (child.type() == pugi::node_pcdata || child.type() == pugi::node_cdata) {
      text += child.value();
    } else if (name == "office:annotation" || depth == deepest) {
      continue;
    } else if (name == "text:s" || name == "text:tab" || name == "text:line-break") {
      text += ' ';
    } else {
      if (name == "text:p" && !text.empty()) text += ' ';
      add_text(child, text, depth + 1);
    }
  }
}

class SheetReader {
 public:
  explicit SheetReader(const std::string& path) : path_(path) {}

  std::vector<std::vector<Cell>> read(const xml_node& sheet) {
    read_rows(sheet, 0);
    while (!rows_.empty() && rows_.back().empty()) rows_.pop_back();
    return std::move(rows_);
  }

 private:
  /// Rows also stand in groups and among heading rows.
  void read_rows(const xml_node& node, int depth) {
    constexpr int deepest = 20;
    for (const xml_node& child : node.children()) {
      const std::string_view name = child.name();
      if (name == "table:table-row") {
        read_row(child);
      } else if ((name == "table:table-row-group" || name == "table:table-header-rows" ||
                  name == "table:table-rows") &&
                 depth < deepest) {
        read_rows(child, depth + 1);
      }
    }
  }

  void read_row(const xml_node& node) {
    std::vector<Cell> row;
    for (const xml_node& child : node.children()) {
      const std::string_view name = child.name();
      if (name == "table:table-cell" || name == "table:covered-table-cell") add_cells(child, row);
    }
    while (!row.empty() && row.back().text.empty() && !row.back().covered) row.pop_back();
    std::size_t times = repeated(node, "table:number-rows-repeated");
    // Below the last entry a sheet has a million rows, told as one.
    if (row.empty() && rows_.size() + times > max_table_rows) times = 1;
    if (rows_.size() + times > max_table_rows)
      throw Unusable{tr("{}: more than {} rows", path_, max_table_rows)};
    for (std::size_t i = 0; i < times; ++i) rows_.push_back(row);
    cells_ += times * row.size();
    constexpr std::size_t most_cells = 2'000'000;
    if (cells_ > most_cells) throw Unusable{tr("{}: more than {} cells", path_, most_cells)};
  }

  void add_cells(const xml_node& node, std::vector<Cell>& row) {
    Cell cell = cell_of(node);
    std::size_t times = repeated(node, "table:number-columns-repeated");
    if (cell.text.empty() && row.size() + times > max_table_columns) times = std::min<std::size_t>(times, 1);
    if (row.size() + times > max_table_columns) {
      throw Unusable{tr("{}: row {} has more than {} cells", path_, rows_.size() + 1, max_table_columns)};
    }
    row.insert(row.end(), times, cell);
  }

  [[nodiscard]] Cell cell_of(const xml_node& node) const {
    Cell cell;
    cell.covered = std::string_view{node.name()} == "table:covered-table-cell";
    const std::string_view type = node.attribute("office:value-type").as_string();
    if (type == "float" || type == "currency") {
      cell.text = tidied(node.attribute("office:value").as_string());
    } else {
      std::string text;
      add_text(node, text, 0);
      cell.text = tidied(text);
    }
    if (character_count(cell.text) > max_cell_characters) {
      throw Unusable{tr("{}: row {} has a cell of {} characters; more than {} are no entry of a schedule",
                        path_, rows_.size() + 1, character_count(cell.text), max_cell_characters)};
    }
    cell.formula = looks_like_formula(cell.text) ||
                   std::string_view{node.attribute("calcext:value-type").as_string()} == "error";
    return cell;
  }

  const std::string& path_;
  std::vector<std::vector<Cell>> rows_;
  std::size_t cells_ = 0;
};

}  // namespace

Table read_ods(const std::string& path, std::string_view bytes, const std::string& sheet) {
  const std::string xml = content_xml(path, bytes);
  pugi::xml_document document;
  const auto parsed = document.load_buffer(xml.data(), xml.size());
  if (!parsed) throw Unusable{tr("{}: content.xml in it is no XML: {}", path, parsed.description())};
  const xml_node body =
      document.child("office:document-content").child("office:body").child("office:spreadsheet");
  std::vector<std::string> names;
  for (const xml_node& table : body.children("table:table")) {
    names.emplace_back(harmless(table.attribute("table:name").as_string()));
    if (!sheet.empty() && names.back() != sheet) continue;
    Table read;
    read.path = path;
    read.format = tr("OpenDocument, sheet '{}'", names.back());
    read.rows = SheetReader{path}.read(table);
    return read;
  }
  if (names.empty()) throw Unusable{tr("{}: there is no sheet in it", path)};
  throw Unusable{tr("{}: no sheet is called '{}'; expected {}.{}", path, sheet, one_of(names),
                    did_you_mean(sheet, names))};
}

}  // namespace drybus::tools
