#include "tools/script/tree.h"

#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/parser.h>

#include <algorithm>
#include <array>
#include <optional>
#include <sstream>
#include <unordered_map>
#include <utility>

#include "model/words/words.h"
#include "tools/base/utf8.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg;
using model::tr;

namespace {

/// The parser turns the escapes \_ and \N into one byte each, which is not UTF-8; no other byte can be on its own.
std::string escapes_mended(const std::string& value) {
  std::string text = value;
  for (auto bad = first_bad_character(text);
       bad && (text[bad->offset] == '\xa0' || text[bad->offset] == '\x85'); bad = first_bad_character(text)) {
    text.insert(bad->offset, 1, '\xc2');
    if (text[bad->offset + 1] == '\x85') break;  // a control character, wherever it comes from
  }
  return text;
}

/// Thrown through the parser when a limit is passed.
struct Refused {
  Place place;
  std::string message;
  std::string expected;
};

}  // namespace

/// Hears the parser's events and puts nodes together. Limits are kept here, before anything grows.
class TreeBuilder final : public YAML::EventHandler {
 public:
  TreeBuilder(std::uint32_t file, Complaints& complaints) : file_(file), complaints_(complaints) {}

  void OnDocumentStart(const YAML::Mark& mark) override {
    if (tree_->root_ != nullptr) {
      throw Refused{
          {source_mark(mark), 1}, tr("a second document begins here"), tr("one document in a file")};
    }
  }
  void OnDocumentEnd() override {}

  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    // Where a value is missing, the parser points at whatever comes next; the key is what people look for.
    const bool missing_value = !open_.empty() && open_.back().key != nullptr;
    Node& node = add(mark, anchor);
    if (missing_value) node.place = open_.back().key->place;
    close(node);
  }

  void OnAlias(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    const auto found = anchors_.find(anchor);
    if (found == anchors_.end() || !found->second.complete) {
      throw Refused{{source_mark(mark), 1}, tr("an alias within what it stands for"), ""};
    }
    const Node& target = *found->second.node;
    count(mark, target.size);
    check_depth(mark, target.height);
    attach(target);
  }

  void OnScalar(const YAML::Mark& mark, const std::string&, YAML::anchor_t anchor,
                const std::string& value) override {
    Node& node = add(mark, anchor);
    node.kind = Node::Kind::word;
    node.text = escapes_mended(value);
    locate(node, static_cast<std::size_t>(mark.column));
    last_word_ = &node;
    last_word_offset_ = static_cast<std::size_t>(mark.pos);
    refuse_bad_escape(node);
    close(node);
  }

  void OnSequenceStart(const YAML::Mark& mark, const std::string&, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value) override {
    begin(Node::Kind::list, mark, anchor);
  }
  void OnSequenceEnd() override { end(); }
  void OnMapStart(const YAML::Mark& mark, const std::string&, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value) override {
    begin(Node::Kind::map, mark, anchor);
  }
  void OnMapEnd() override { end(); }

  /// The parser takes the end of a text for a closing quotation mark; we do not.
  void refuse_open_quote() const {
    if (last_word_ == nullptr || last_word_->quote == 0) return;
    const std::string_view text = complaints_.sources()[file_].text;
    const char quote = text[std::min(last_word_offset_, text.size() - 1)];
    for (std::size_t i = last_word_offset_ + 1; i < text.size(); ++i) {
      const bool escapes = text[i] == '\\' && quote == '"';
      const bool doubled = text[i] == quote && quote == '\'' && text.substr(i + 1).starts_with('\'');
      if (escapes || doubled) {
        ++i;
      } else if (text[i] == quote) {
        return;
      }
    }
    throw Refused{{last_word_->place.mark, 1}, tr("this quotation mark is never closed"), ""};
  }

  [[nodiscard]] std::unique_ptr<Tree> take() { return tree_->root_ == nullptr ? nullptr : std::move(tree_); }

  /// The parser counts bytes from 0, people characters from 1. Events come in the order of the text, so that
  /// each count can go on from the last one: a long line is not counted again and again.
  [[nodiscard]] model::SourceMark source_mark(const YAML::Mark& mark) {
    if (mark.is_null()) return {file_, 1, 1};
    const auto line = static_cast<std::uint32_t>(mark.line + 1);
    const std::string_view text = complaints_.line(file_, line);
    const auto bytes = std::min(static_cast<std::size_t>(mark.column), text.size());
    if (counted_to_.line != line || counted_to_.bytes > bytes) counted_to_ = {line, 0, 0};
    counted_to_.characters += character_count(text.substr(counted_to_.bytes, bytes - counted_to_.bytes));
    counted_to_.bytes = bytes;
    return {file_, line, static_cast<std::uint32_t>(counted_to_.characters + 1)};
  }

 private:
  /// The text of the file is good; what an escape puts into a word need not be.
  void refuse_bad_escape(Node& node) {
    const auto bad = first_bad_character(node.text);
    if (!bad) return;
    complaints_.add(node.place, tr("{}, written as an escape", in_words_spoken(bad->what)),
                    tr("text that can be shown and printed"));
    node.text = harmless(node.text);
  }

  struct Open {
    Node* node = nullptr;
    const Node* key = nullptr;  ///< of the mapping entry whose value comes next
    bool skip = false;          ///< that entry does not count
    YAML::anchor_t anchor = YAML::NullAnchor;
    std::unordered_map<std::string_view, const Node*> keys = {};
  };
  struct CountedTo {
    std::uint32_t line = 0;
    std::size_t bytes = 0;
    std::size_t characters = 0;
  };
  struct Anchor {
    const Node* node = nullptr;
    bool complete = false;
  };

  void count(const YAML::Mark& mark, std::uint32_t nodes) {
    if (nodes > max_nodes - counted_) {
      throw Refused{{source_mark(mark), 1},
                    tr("more than {} values (an alias counts as all that it stands for)", max_nodes),
                    ""};
    }
    counted_ += nodes;
  }

  void check_depth(const YAML::Mark& mark, std::uint32_t height) {
    if (open_.size() + height > max_depth) {
      throw Refused{{source_mark(mark), 1}, tr("nested deeper than {} levels", max_depth), ""};
    }
  }

  Node& add(const YAML::Mark& mark, YAML::anchor_t anchor) {
    count(mark, 1);
    check_depth(mark, 1);
    Node& node = tree_->nodes_.emplace_back();
    node.place.mark = source_mark(mark);
    if (anchor != YAML::NullAnchor) anchors_[anchor] = {&node, false};
    anchor_of_last_ = anchor;
    return node;
  }

  void begin(Node::Kind kind, const YAML::Mark& mark, YAML::anchor_t anchor) {
    Node& node = add(mark, anchor);
    node.kind = kind;
    open_.push_back({.node = &node, .anchor = anchor});
  }

  void end() {
    Open closed = std::move(open_.back());
    open_.pop_back();
    anchor_of_last_ = closed.anchor;
    close(*closed.node);
  }

  void close(Node& node) {
    if (anchor_of_last_ != YAML::NullAnchor) anchors_[anchor_of_last_].complete = true;
    attach(node);
  }

  /// Puts a finished node, or one that an alias stands for, where it belongs.
  void attach(const Node& node) {
    if (open_.empty()) {
      tree_->root_ = &node;
      return;
    }
    Open& parent = open_.back();
    parent.node->size += node.size;
    parent.node->height = std::max(parent.node->height, node.height + 1);
    if (parent.node->kind == Node::Kind::list) {
      parent.node->items.push_back(&node);
    } else if (parent.key == nullptr) {
      take_key(parent, node);
    } else {
      if (!parent.skip) parent.node->entries.push_back({parent.key, &node});
      parent.key = nullptr;
    }
  }

  void take_key(Open& parent, const Node& key) {
    parent.key = &key;
    parent.skip = false;
    if (key.kind != Node::Kind::word) {
      parent.skip = true;
      complaints_.add(key.place, tr("{} where a key should be", spoken(key.kind)), tr("a word"));
      return;
    }
    const auto [first, fresh] = parent.keys.emplace(key.text, &key);
    if (fresh) return;
    parent.skip = true;
    complaints_.add(key.place, tr("'{}' stands here twice; the first is in line {}", key.text,
                                  first->second->place.mark.line));
  }

  /// Finds out how the word is written, to point into it.
  void locate(Node& node, std::size_t column_bytes) const {
    const std::string_view line = complaints_.line(file_, node.place.mark.line);
    const std::string_view rest = line.substr(std::min(column_bytes, line.size()));
    const auto length = static_cast<std::uint32_t>(character_count(node.text));
    node.quote = !rest.empty() && (rest.front() == '"' || rest.front() == '\'') ? 1 : 0;
    node.verbatim = rest.substr(node.quote).starts_with(node.text);
    node.place.length = length + 2u * node.quote;
    if (node.text.find('\n') != std::string::npos) node.place.length = 1;
  }

  std::uint32_t file_;
  Complaints& complaints_;
  std::unique_ptr<Tree> tree_ = std::make_unique<Tree>();
  std::vector<Open> open_;
  std::unordered_map<YAML::anchor_t, Anchor> anchors_;
  YAML::anchor_t anchor_of_last_ = YAML::NullAnchor;
  std::uint32_t counted_ = 0;
  CountedTo counted_to_;
  const Node* last_word_ = nullptr;
  std::size_t last_word_offset_ = 0;  ///< bytes
};

namespace {

/// What helps with the parser's own messages.
std::string hint_for(std::string_view message, std::string_view line) {
  const std::size_t indentation = line.find_first_not_of(" \t");
  if (line.substr(0, indentation).find('\t') != std::string_view::npos)
    return tr("blanks, not tabs, for indentation");
  constexpr std::array<std::pair<std::string_view, std::string_view>, 7> hints = {{
      {"illegal map value", msg("one 'key: value' a line; text that holds ': ' goes in quotes")},
      {"illegal EOF in scalar", msg("a closing quotation mark")},
      {"end of map flow not found", msg("a comma, or a closing '}'")},
      {"end of sequence flow not found", msg("a comma, or a closing ']'")},
      {"end of map not found", msg("a key at the same indentation as the others, and a ':' after it")},
      {"end of sequence not found", msg("'- ' at the same indentation as the others")},
      {"the referenced anchor is not defined", msg("text that begins with '*' in quotes")},
  }};
  for (const auto& [beginning, hint] : hints) {
    if (message.starts_with(beginning)) return std::string{in_words_spoken(hint)};
  }
  return {};
}

bool has_only_good_characters(std::uint32_t file, Complaints& complaints) {
  const std::string_view text = complaints.sources()[file].text;
  const auto bad = first_bad_character(text);
  if (!bad) return true;
  const std::string_view before = text.substr(0, bad->offset);
  const std::size_t line_start = before.rfind('\n') + 1;  // npos + 1 is 0
  const auto line = static_cast<std::uint32_t>(std::count(before.begin(), before.end(), '\n') + 1);
  const auto column = static_cast<std::uint32_t>(character_count(before.substr(line_start)) + 1);
  complaints.add({{file, line, column}, 1}, std::string{in_words_spoken(bad->what)},
                 tr("plain text in UTF-8"));
  return false;
}

}  // namespace

std::unique_ptr<Tree> parse_tree(std::uint32_t file, Complaints& complaints) {
  if (!has_only_good_characters(file, complaints)) return nullptr;
  TreeBuilder builder{file, complaints};
  std::istringstream in{complaints.sources()[file].text};
  try {
    YAML::Parser parser{in};
    while (parser.HandleNextDocument(builder)) {
    }
    builder.refuse_open_quote();
  } catch (const Refused& refused) {
    complaints.add(refused.place, refused.message, refused.expected);
    return nullptr;
  } catch (const YAML::Exception& error) {
    const model::SourceMark mark = builder.source_mark(error.mark);
    complaints.add({mark, 1}, tr("this is not YAML: {}", error.msg),
                   hint_for(error.msg, complaints.line(file, mark.line)));
    return nullptr;
  }
  std::unique_ptr<Tree> tree = builder.take();
  if (tree == nullptr || tree->root().kind == Node::Kind::nothing) {
    complaints.add({{file, 1, 1}, 1}, tr("the file is empty"));
    return nullptr;
  }
  return tree;
}

}  // namespace drybus::tools
