#include "tools/script/complaints.h"

#include <algorithm>
#include <tuple>

#include "model/words/words.h"
#include "tools/base/utf8.h"

namespace drybus::tools {

using model::tr;

std::uint32_t Complaints::add_source(SourceFile source) {
  std::vector<std::uint32_t> starts = {0};
  for (std::size_t i = 0; i < source.text.size(); ++i) {
    if (source.text[i] == '\n') starts.push_back(static_cast<std::uint32_t>(i + 1));
  }
  sources_.push_back(std::move(source));
  line_starts_.push_back(std::move(starts));
  return static_cast<std::uint32_t>(sources_.size() - 1);
}

std::string_view Complaints::line(std::uint32_t file, std::uint32_t line) const {
  if (file >= sources_.size() || line == 0 || line > line_starts_[file].size()) return {};
  const std::string_view text = sources_[file].text;
  const std::size_t begin = line_starts_[file][line - 1];
  const std::size_t end = line < line_starts_[file].size() ? line_starts_[file][line] - 1 : text.size();
  std::string_view found = text.substr(begin, end - begin);
  if (!found.empty() && found.back() == '\r') found.remove_suffix(1);
  return found;
}

void Complaints::add(const Place& place, std::string message, std::string expected, std::string suggestion) {
  if (found_.size() >= most) {
    ++beyond_;
    return;
  }
  const auto& [file, line_number, column] = place.mark;
  // Of a very long line no more is kept than can be shown round the place.
  const std::string_view kept = characters(line(file, line_number), 0, column + 256u);
  found_.push_back(
      {place.mark, Problem{sources_[file].path, line_number, column, std::move(message), std::move(expected),
                           std::move(suggestion), harmless(kept), place.length}});
}

void Complaints::add_about_file(std::string path, std::string message, std::string expected) {
  Problem problem;
  problem.file = std::move(path);
  problem.message = std::move(message);
  problem.expected = std::move(expected);
  found_.push_back({{static_cast<std::uint32_t>(sources_.size()), 0, 0}, std::move(problem)});
}

std::vector<Problem> Complaints::sorted() const {
  std::vector<Found> found = found_;
  std::stable_sort(found.begin(), found.end(), [](const Found& a, const Found& b) {
    return std::tie(a.mark.file, a.mark.line, a.mark.column) <
           std::tie(b.mark.file, b.mark.line, b.mark.column);
  });
  std::vector<Problem> problems;
  problems.reserve(found.size() + 1);
  for (Found& each : found) problems.push_back(std::move(each.problem));
  if (beyond_ > 0) {
    Problem more;
    more.file = sources_.front().path;
    more.message = tr("and {} further problems; mend these first", beyond_);
    problems.push_back(std::move(more));
  }
  return problems;
}

}  // namespace drybus::tools
