#include "tools/picture/svg.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "model/words/words.h"
#include "tools/picture/glyphs.h"
#include "tools/picture/palette.h"

namespace drybus::tools::picture {

using model::tr;

namespace {

constexpr std::string_view replacement = "\xef\xbf\xbd";

/// How many bytes the character at the beginning of `text` takes; 0 where it is none that XML may hold.
std::size_t character_bytes(std::string_view text) {
  const auto byte = [&](std::size_t i) { return i < text.size() ? static_cast<unsigned char>(text[i]) : 0u; };
  const auto follows = [&](std::size_t i) { return (byte(i) & 0xc0u) == 0x80u; };
  const unsigned lead = byte(0);
  if (lead < 0x80) return lead >= 0x20 || lead == '\n' || lead == '\t' ? 1 : 0;
  if (lead >= 0xc2 && lead < 0xe0) return follows(1) ? 2 : 0;
  if (lead >= 0xe0 && lead < 0xf0) {
    if (!follows(1) || !follows(2)) return 0;
    const unsigned code = (lead & 0xfu) << 12 | (byte(1) & 0x3fu) << 6 | (byte(2) & 0x3fu);
    return code >= 0x800 && (code < 0xd800 || code > 0xdfff) && code < 0xfffe ? 3 : 0;
  }
  if (lead >= 0xf0 && lead < 0xf5) {
    if (!follows(1) || !follows(2) || !follows(3)) return 0;
    const unsigned code = (lead & 7u) << 18 | (byte(1) & 0x3fu) << 12;
    return code >= 0x10000 && code < 0x110000 ? 4 : 0;
  }
  return 0;
}

void add_escaped(std::string& to, char c) {
  switch (c) {
    case '&':
      to += "&amp;";
      return;
    case '<':
      to += "&lt;";
      return;
    case '>':
      to += "&gt;";
      return;
    case '"':
      to += "&quot;";
      return;
    case '\'':
      to += "&#39;";
      return;
    default:
      to += c;
  }
}

std::string_view shown_class(Shown shown) {
  switch (shown) {
    case Shown::always:
      return "";
    case Shown::revealed:
      return "revealed";
    case Shown::covered:
      return "covered";
  }
  return "";
}

std::string_view anchor_text(Anchor anchor) {
  switch (anchor) {
    case Anchor::start:
      return "";
    case Anchor::middle:
      return " text-anchor=\"middle\"";
    case Anchor::end:
      return " text-anchor=\"end\"";
  }
  return "";
}

/// Textures of strips begin with the strip; others run on from one box to the next.
bool has_own_texture(Look look) {
  return look == Look::lamp_breathe || look == Look::lamp_blink || look == Look::lamp_refuse;
}

void add_shape(std::string& out, const Shape& shape) {
  if (!shape.path.empty()) {
    out += fmt::format("<path class=\"{}\" d=\"{}\"/>", class_name(shape.look), shape.path);
    return;
  }
  if (has_own_texture(shape.look)) {
    out += fmt::format("<rect class=\"{}\" transform=\"translate({} {})\" width=\"{}\" height=\"{}\"/>",
                       class_name(shape.look), number_text(shape.box.x), number_text(shape.box.y),
                       number_text(shape.box.width), number_text(shape.box.height));
    return;
  }
  out += fmt::format("<rect class=\"{}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
                     class_name(shape.look), number_text(shape.box.x), number_text(shape.box.y),
                     number_text(shape.box.width), number_text(shape.box.height));
}

/// A thin line is hard to point at: a broad one that nobody sees lies below it.
void add_target(std::string& out, const Mark& mark) {
  std::string path;
  for (const Shape& shape : mark.shapes) {
    if (shape.look == Look::lead || shape.look == Look::lead_lost || shape.look == Look::lead_beacon)
      path += shape.path;
  }
  if (!path.empty()) out += fmt::format("<path class=\"target\" d=\"{}\"/>", path);
}

std::string tooltip(const Telling& telling) {
  std::string text = telling.what + "\n" + telling.when;
  for (const std::string& because : telling.because) text += tr("\nbecause {}", because);
  return text;
}

void add_mark(std::string& out, const Mark& mark, const SvgForm& form) {
  const bool told = !mark.telling.what.empty();
  const std::string_view shown = shown_class(mark.shown);
  if (!told && shown.empty()) {
    for (const Shape& shape : mark.shapes) add_shape(out, shape);
    out += "\n";
    return;
  }
  out += fmt::format("<g class=\"{}{}{}\"", told ? "mark" : "", told && !shown.empty() ? " " : "", shown);
  if (told && form.inside_page) {
    out += fmt::format(" data-what=\"{}\" data-when=\"{}\" data-at=\"{}\"", escaped(mark.telling.what),
                       escaped(mark.telling.when), mark.telling.at.time_since_epoch().count() / 1'000'000);
    if (!mark.telling.because.empty()) {
      out += fmt::format(" data-because=\"{}\"",
                         escaped(fmt::format("{}", fmt::join(mark.telling.because, "\n"))));
    }
  }
  out += ">";
  if (told && !form.inside_page && !form.plain)
    out += "<title>" + escaped(tooltip(mark.telling)) + "</title>";
  if (told && form.inside_page) add_target(out, mark);
  for (const Shape& shape : mark.shapes) add_shape(out, shape);
  out += "</g>\n";
}

/// What lies around letters, for who cannot draw it with them.
void add_ground(std::string& out, const Label& label) {
  out += fmt::format(
      "<text x=\"{}\" y=\"{}\" class=\"s{:.0f}{}\" fill=\"{}\" stroke=\"{}\" stroke-width=\"4\" "
      "stroke-linejoin=\"round\"{}>{}</text>\n",
      number_text(label.at.x), number_text(label.at.y), label.style.size, label.style.bold ? " bold" : "",
      colour(label.ground), colour(label.ground), anchor_text(label.anchor), escaped(label.text));
}

void add_label(std::string& out, const Label& label, const SvgForm& form) {
  const std::string_view shown = shown_class(label.shown);
  if (form.plain) add_ground(out, label);
  out += fmt::format("<text x=\"{}\" y=\"{}\" class=\"s{:.0f}{} {}-on-{}{}{}\"{}>{}</text>\n",
                     number_text(label.at.x), number_text(label.at.y), label.style.size,
                     label.style.bold ? " bold" : "", name(label.ink), name(label.ground),
                     shown.empty() ? "" : " ", shown, anchor_text(label.anchor), escaped(label.text));
}

}  // namespace

std::string escaped(std::string_view text) {
  std::string out;
  out.reserve(text.size() + text.size() / 8);
  while (!text.empty()) {
    const std::size_t bytes = character_bytes(text);
    if (bytes == 0) out += replacement;
    if (bytes == 1) add_escaped(out, text.front());
    if (bytes > 1) out += text.substr(0, bytes);
    text.remove_prefix(std::max<std::size_t>(bytes, 1));
  }
  return out;
}

std::string svg_text(const Picture& picture, const SvgForm& form) {
  std::string out;
  const std::string width = number_text(picture.width);
  const std::string height = number_text(picture.height);
  const double scale = picture.shown_width > 0 ? picture.shown_width / picture.width : 1;
  const std::string which = form.number == 0 ? "" : fmt::format("-{}", form.number);
  if (!form.inside_page && !form.plain) out += "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";
  out += fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" id=\"picture{0}\" class=\"picture\" viewBox=\"0 0 {1} {2}\" "
      "width=\"{3}\" height=\"{4}\" role=\"img\" "
      "aria-labelledby=\"picture-title{0} picture-description{0}\" font-family=\"{5}\">\n",
      which, width, height, number_text(picture.width * scale), number_text(picture.height * scale),
      text_family);
  out += fmt::format(
      "<title id=\"picture-title{0}\">{1}</title>\n<desc id=\"picture-description{0}\">{2}</desc>\n", which,
      escaped(picture.title), escaped(picture.description));
  if (!form.inside_page)
    out += fmt::format("<defs><style>{}{}</style>{}</defs>\n", style_sheet(),
                       label_sheet(picture, form.plain), textures());
  out +=
      fmt::format("<rect width=\"{}\" height=\"{}\" fill=\"{}\"/>\n", width, height, colour(Ground::paper));
  for (std::size_t layer = 0; layer < layer_count; ++layer) {
    out += "<g>\n";
    for (const Mark& mark : picture.marks) {
      if (static_cast<std::size_t>(mark.layer) == layer) add_mark(out, mark, form);
    }
    out += "</g>\n";
  }
  out += "<g class=\"labels\">\n";
  for (const Label& label : picture.labels) add_label(out, label, form);
  return out + "</g>\n</svg>\n";
}

}  // namespace drybus::tools::picture
