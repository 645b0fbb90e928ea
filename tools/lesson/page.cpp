#include "tools/lesson/page.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <boost/archive/iterators/base64_from_binary.hpp>
#include <boost/archive/iterators/transform_width.hpp>
#include <boost/json.hpp>
#include <cstdlib>
#include <filesystem>
#include <map>

#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/unusable.h"
#include "tools/base/xml.h"
#include "tools/script/files.h"
#include "tools/words/languages.h"

namespace drybus::tools {

using model::tr;

namespace fs = std::filesystem;
namespace json = boost::json;

namespace {

void replace_all(std::string& text, std::string_view what, std::string_view by) {
  for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; at += by.size())
    text.replace(at, what.size(), by);
}

/// REQUIRES: it is there, once.
void replace_the(std::string& text, std::string_view what, std::string_view by) {
  const std::size_t at = text.find(what);
  if (at == std::string::npos) throw std::logic_error{fmt::format("the panel's page has no {}", what)};
  text.replace(at, what.size(), by);
}

/// JSON within an element of a page: nothing in it looks like the element's end.
std::string json_in_html(const json::value& value) {
  std::string text = json_text(value);
  replace_all(text, "<", "\\u003c");
  return text;
}

std::string in_base64(std::string_view bytes) {
  namespace iterators = boost::archive::iterators;
  using Digits =
      iterators::base64_from_binary<iterators::transform_width<std::string_view::const_iterator, 6, 8>>;
  std::string text{Digits{bytes.begin()}, Digits{bytes.end()}};
  text.append((3 - bytes.size() % 3) % 3, '=');
  return text;
}

/// Every file by name; what belongs to lessons takes the place of what the panel has of that name.
std::map<std::string_view, std::string_view> files_by_name() {
  std::map<std::string_view, std::string_view> all;
  for (const PageFile& file : page_files()) all[file.name] = file.content;
  for (const PageFile& file : lesson_page_files()) all[file.name] = file.content;
  return all;
}

/// Modules name one another by names that no address is needed for.
json::object modules_of(const std::map<std::string_view, std::string_view>& files) {
  json::object modules;
  for (const auto& [name, content] : files) {
    if (!name.ends_with(".js") || name == "start.js") continue;
    std::string text{content};
    replace_all(text, "from './", "from 'page/");
    modules[name] = std::move(text);
  }
  return modules;
}

std::string element(std::string_view opening, std::string_view content) {
  return fmt::format("<script {}>{}</script>\n", opening, content);
}

std::vector<fs::path> bench_folders() {
  std::vector<fs::path> folders;
  if (const char* set = std::getenv("DRYBUS_LESSON_BENCH")) folders.emplace_back(set);
  std::error_code error;
  const fs::path program = fs::read_symlink("/proc/self/exe", error).parent_path();
  if (!error) {
    folders.push_back(program / "lesson-bench");
    folders.push_back(program.parent_path() / "share" / "drybus" / "lesson-bench");
  }
  return folders;
}

}  // namespace

std::string lesson_page(std::string_view title, std::string_view bundle, const BrowserBench& bench,
                        std::string_view language) {
  const auto files = files_by_name();
  std::string html{files.at("index.html")};
  replace_the(html, "<title>drybus</title>", fmt::format("<title>{} - drybus</title>", xml_escaped(title)));
  replace_the(html, "<link rel=\"icon\" href=\"icon.svg\" type=\"image/svg+xml\">\n", "");
  replace_the(html, "<link rel=\"stylesheet\" href=\"panel.css\">",
              fmt::format("<style>\n{}{}</style>", files.at("panel.css"), files.at("lesson.css")));
  replace_the(html, "<script type=\"module\" src=\"panel.js\"></script>\n", "");
  replace_the(html, "<html lang=\"en\"", fmt::format("<html lang=\"{}\"", language));
  const std::string_view words = words_for_page(language);
  const std::string carried =
      element("type=\"application/json\" id=\"words\"",
              json_in_html(json::parse(json::string_view{words.data(), words.size()}))) +
      element("type=\"application/json\" id=\"lesson-bundle\"",
              json_in_html(json::parse(json::string_view{bundle.data(), bundle.size()}))) +
      element("type=\"application/json\" id=\"page-modules\"", json_in_html(modules_of(files))) +
      element("type=\"text/plain\" id=\"bench-binary\"", in_base64(bench.packed)) +
      element("", bench.script) + element("", files.at("start.js"));
  replace_the(html, "</body>", carried + "</body>");
  return html;
}

BrowserBench load_browser_bench() {
  constexpr std::size_t most_bytes = std::size_t{16} << 20;
  const DiskFiles files{most_bytes};
  for (const fs::path& folder : bench_folders()) {
    auto script = files.read(folder / "lesson_bench.js");
    auto packed = files.read(folder / "lesson_bench.wasm.gz");
    if (auto* text = std::get_if<std::string>(&script)) {
      if (auto* bytes = std::get_if<std::string>(&packed)) return {std::move(*text), std::move(*bytes)};
    }
  }
  throw Unusable{tr(
      "the bench for browsers is not there. It is built together with drybus where emscripten is installed: "
      "apt-get install "
      "emscripten, then build anew; the packages of drybus bring it along")};
}

}  // namespace drybus::tools
