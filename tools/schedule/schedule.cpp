#include "tools/schedule/schedule.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/algorithm/string.hpp>
#include <map>
#include <set>

#include "model/words/words.h"
#include "tools/base/utf8.h"
#include "tools/schedule/entries.h"
#include "tools/schedule/labels.h"
#include "tools/script/fields.h"
#include "tools/script/site_reader.h"

namespace drybus::tools {

using model::plural, model::tr;

namespace {

class ScheduleReader {
 public:
  ScheduleReader(const Table& table, const Layout& layout, const ScheduleOptions& options)
      : table_(table), layout_(layout), options_(options) {
    for (std::size_t i = 0; i < sim::count_of<Meaning>; ++i)
      columns_[static_cast<Meaning>(i)] = layout.column(static_cast<Meaning>(i));
  }

  Schedule read() {
    find_floors();
    find_plate_lines();
    for (row_ = layout_.first_row; row_ < table_.rows.size(); ++row_) {
      if (out_.circuits.size() >= max_circuits && !is_blank()) {
        wrong(Meaning::circuit, tr("more than {} circuits; a site file holds no more", max_circuits));
        break;
      }
      read_row();
    }
    const auto is_wrong = [](const Remark& each) { return each.wrong; };
    if (out_.circuits.empty() && std::none_of(out_.remarks.begin(), out_.remarks.end(), is_wrong))
      out_.remarks.push_back(
          {layout_.first_row, *columns_[Meaning::circuit], true, tr("no circuit stands here or below")});
    name_modules();
    make_labels_different(out_.circuits);
    settle_plates();
    note_dimming();
    std::sort(out_.remarks.begin(), out_.remarks.end());
    return std::move(out_);
  }

 private:
  // --- cells ---

  [[nodiscard]] const Cell& cell(Meaning meaning) const {
    static const Cell none;
    return columns_[meaning] ? table_.at(row_, *columns_[meaning]) : none;
  }
  [[nodiscard]] const std::string& text(Meaning meaning) const { return cell(meaning).text; }

  void remark(Meaning meaning, bool is_wrong, std::string what) {
    out_.remarks.push_back({row_, columns_[meaning].value_or(0), is_wrong, std::move(what)});
  }
  void wrong(Meaning meaning, std::string what) { remark(meaning, true, std::move(what)); }
  void doubt(Meaning meaning, std::string what) { remark(meaning, false, std::move(what)); }

  [[nodiscard]] bool is_blank() const {
    return std::all_of(table_.rows[row_].begin(), table_.rows[row_].end(),
                       [](const Cell& each) { return each.text.empty(); });
  }

  /// A row that repeats the headings, as on every printed page.
  [[nodiscard]] bool repeats_heading() const {
    if (!layout_.has_heading) return false;
    std::size_t alike = 0;
    for (std::size_t column = 0; column < layout_.columns.size(); ++column) {
      const std::string& heading = layout_.columns[column].heading;
      if (!heading.empty() && table_.at(row_, column).text == heading) ++alike;
    }
    return alike >= 2;
  }

  [[nodiscard]] std::optional<std::size_t> only_cell() const {
    std::optional<std::size_t> only;
    for (std::size_t column = 0; column < table_.rows[row_].size(); ++column) {
      if (table_.rows[row_][column].text.empty()) continue;
      if (only) return std::nullopt;
      only = column;
    }
    return only;
  }

  [[nodiscard]] bool is_total() const {
    for (const Cell& each : table_.rows[row_]) {
      if (each.text.empty()) continue;
      std::string word = boost::to_lower_copy(each.text);
      word.resize(std::min(word.size(), word.find_first_of(" :=")));
      return word == "total" || word == "totals" || word == "sum" || word == "subtotal";
    }
    return false;
  }

  // --- rows ---

  void read_row() {
    if (is_blank() || (!layout_.is_ours && is_no_entry())) return;
    if (any_formula()) return;
    if (text(Meaning::circuit).empty()) return read_plate_line();
    Circuit circuit;
    circuit.label = line_of(Meaning::circuit, max_label_characters);
    take_room();
    circuit.room = room_;
    take_module(circuit);
    take_load(circuit);
    take_address(circuit);
    take_do_not_switch(circuit);
    take_plate(circuit);
    check_twice(circuit);
    out_.circuits.push_back(std::move(circuit));
    rows_.push_back(row_);
  }

  /// Headings, totals, and what stands over the lines that follow.
  bool is_no_entry() {
    if (repeats_heading()) return true;
    if (is_total()) {
      doubt_row(tr("a line of totals is left out"));
      return true;
    }
    const auto only = only_cell();
    return only && layout_.columns.size() > 1 && take_lonely(*only);
  }

  void doubt_row(const std::string& what) {
    for (std::size_t column = 0; column < table_.rows[row_].size(); ++column) {
      if (table_.rows[row_][column].text.empty()) continue;
      out_.remarks.push_back(
          {row_, column, false, fmt::format("'{}': {}", table_.rows[row_][column].text, what)});
      return;
    }
  }

  /// A cell that stands alone is a heading over what follows: a room, where no column says so.
  bool take_lonely(std::size_t column) {
    if (column == columns_[Meaning::circuit] && columns_[Meaning::room]) return false;
    if (table_.at(row_, column).formula) return false;
    const bool names_room = !columns_[Meaning::room] || column == columns_[Meaning::room];
    if (names_room && !next_has_room()) {
      room_ = as_room(table_.at(row_, column).text);
      doubt_row(tr("stands alone, and is taken as the room of what follows"));
    } else {
      doubt_row(tr("stands alone, and is taken as a heading"));
    }
    return true;
  }

  [[nodiscard]] bool next_has_room() const {
    if (!columns_[Meaning::room]) return false;
    return row_ + 1 < table_.rows.size() && !table_.at(row_ + 1, *columns_[Meaning::room]).text.empty();
  }

  bool any_formula() {
    bool any = false;
    for (std::size_t column = 0; column < table_.rows[row_].size(); ++column) {
      const Cell& each = table_.rows[row_][column];
      if (!each.formula || column >= layout_.columns.size() || layout_.columns[column].why.empty()) continue;
      out_.remarks.push_back(
          {row_, column, true,
           tr("'{}' is a formula without a result; save the sheet with values", each.text)});
      any = true;
    }
    return any;
  }

  /// A text as a label can hold it.
  std::string line_of(Meaning meaning, std::size_t most) {
    const std::string& whole = text(meaning);
    if (character_count(whole) <= most) return whole;
    doubt(meaning, tr("longer than {} characters; the rest is left out", most));
    return tidied(characters(whole, 0, most));
  }

  // --- rooms ---

  [[nodiscard]] static std::string as_room(const std::string& whole) {
    return tidied(characters(whole, 0, 48));
  }

  /// Rooms of one name on several floors are told apart by the floor.
  void find_floors() {
    if (!columns_[Meaning::floor] || !columns_[Meaning::room]) return;
    std::string room, floor;
    for (row_ = layout_.first_row; row_ < table_.rows.size(); ++row_) {
      if (!text(Meaning::room).empty()) room = text(Meaning::room);
      if (!text(Meaning::floor).empty()) floor = text(Meaning::floor);
      if (!text(Meaning::circuit).empty()) floors_of_[room].insert(floor);
    }
  }

  void take_room() {
    if (!text(Meaning::floor).empty()) floor_ = text(Meaning::floor);
    const std::string& said = text(Meaning::room);
    if (!said.empty()) {
      room_ = as_room(said);
      const auto floors = floors_of_.find(said);
      if (floors != floors_of_.end() && floors->second.size() > 1)
        room_ = as_room(fmt::format("{}, {}", said, floor_));
      if (character_count(said) > 48)
        doubt(Meaning::room, tr("longer than 48 characters; the rest is left out"));
    } else if (columns_[Meaning::room] && room_.empty()) {
      wrong(Meaning::room, tr("no room is said here or above"));
    }
    if (room_.empty()) room_ = "site";
    if (std::find(out_.rooms.begin(), out_.rooms.end(), room_) != out_.rooms.end()) return;
    for (const std::string& room : out_.rooms) {
      if (boost::iequals(room, room_))
        doubt(Meaning::room, tr("'{}' and '{}' are taken as two rooms", room, room_));
    }
    if (out_.rooms.size() == max_places) {
      wrong(Meaning::room, tr("more than {} rooms", max_places));
    } else if (out_.rooms.size() < max_places) {
      out_.rooms.push_back(room_);
    }
  }

  // --- what a line says of its circuit ---

  void check_twice(const Circuit& circuit) {
    const auto [place, fresh] =
        circuits_at_.insert({{circuit.room, boost::to_lower_copy(circuit.label)}, row_});
    if (fresh) return;
    wrong(Meaning::circuit, tr("'{}' in {} is already in {}; two circuits need two names", circuit.label,
                               circuit.room, cell_name(place->second, *columns_[Meaning::circuit])));
  }

  void take_module(Circuit& circuit) {
    const std::string& said = text(Meaning::module);
    if (said.empty()) return;
    std::string name;
    for (const char c : said) {
      const bool fits =
          (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_';
      name += fits ? c : '_';
    }
    if (name.front() >= '0' && name.front() <= '9') name.insert(0, "M");
    if (!is_name(name) || name.size() > 40 || name == "all" || name == "none" || name == "findings") {
      doubt(Meaning::module, tr("'{}' cannot name a module; it gets a name of its own", said));
      return;
    }
    const auto [place, fresh] = modules_at_.insert({name, row_});
    if (!fresh) {
      wrong(Meaning::module, tr("a module '{}' is already in {}; two modules need two names", said,
                                cell_name(place->second, *columns_[Meaning::module])));
    } else if (name != said) {
      doubt(Meaning::module, tr("'{}' becomes '{}': letters, digits and underscores", said, name));
    }
    circuit.name = name;
  }

  void take_load(Circuit& circuit) {
    const std::string& said = text(Meaning::load);
    if (!said.empty()) {
      const LoadEntry load = parse_load(said, is_in_kilowatts());
      if (!load.watts)
        doubt(Meaning::load, tr("'{}' is no power such as 60, 60 W or 6 x 7.5 W: left out", said));
      if (!load.doubt.empty()) doubt(Meaning::load, load.doubt + " W");
      circuit.watts = load.watts;
    }
    const std::string& way = text(Meaning::dimming);
    const auto dimming = way.empty() ? std::nullopt : parse_dimming(way);
    if (!way.empty() && !dimming) {
      doubt(Meaning::dimming,
            tr("'{}' is none of leading edge, trailing edge, switched: left to what is usual", way));
    }
    if (!dimming && circuit.watts) ++without_dimming_;
    circuit.dimming = dimming.value_or(usual_dimming(options_.family, circuit.watts.value_or(0)));
  }

  /// "Load [kW]" says so for every cell that has no unit of its own.
  [[nodiscard]] bool is_in_kilowatts() const {
    return boost::icontains(layout_.columns[*columns_[Meaning::load]].heading, "kw");
  }

  /// A word that stands for a number there.
  [[nodiscard]] static std::string_view number_word(Meaning meaning) {
    const std::string_view word = meaning == Meaning::site   ? model::msg_as("number", "site")
                                  : meaning == Meaning::zone ? model::msg_as("number", "zone")
                                                             : model::msg_as("number", "channel");
    return model::in_words_spoken(word, "number");
  }

  std::optional<std::uint8_t> number(Meaning meaning, unsigned least, unsigned most) {
    const std::string& said = text(meaning);
    if (said.empty()) return std::nullopt;
    const auto read = parse_number(said);
    if (read && *read >= least && *read <= most) return read;
    doubt(meaning, tr("'{}' is no {} of {} to {}: left to plan", said, number_word(meaning), least, most));
    return std::nullopt;
  }

  [[nodiscard]] unsigned most_sites() const {
    return options_.family == nullptr ? 255u : options_.family->plate.site_switches.largest();
  }
  [[nodiscard]] unsigned most_zones() const {
    return options_.family == nullptr ? 255u : options_.family->plate.zone_switches.largest();
  }

  void take_address(Circuit& circuit) {
    const model::Family* family = options_.family;
    const unsigned sites = most_sites(), zones = most_zones();
    const unsigned channels = family == nullptr ? 255u : family->plate.channels;
    if (const std::string& said = text(Meaning::address); !said.empty()) {
      const auto address = model::parse_address(said);
      if (address && address->site <= sites && address->zone >= 1 && address->zone <= zones &&
          address->channel >= 1 && address->channel <= channels) {
        circuit.site = address->site, circuit.zone = address->zone, circuit.channel = address->channel;
      } else {
        doubt(Meaning::address,
              tr("'{}' is no address that this family has, such as 23/4/1: left to plan", said));
      }
    } else {
      circuit.site = number(Meaning::site, 0, sites);
      circuit.zone = number(Meaning::zone, 1, zones);
      circuit.channel = number(Meaning::channel, 1, channels);
      if (circuit.zone && !circuit.site) circuit.site = options_.site_number;
    }
    if (circuit.channel && (!circuit.site || !circuit.zone)) {
      doubt(Meaning::channel,
            circuit.zone
                ? tr("a zone and a channel without a site number (--number 23 says one): left to plan")
                : tr("a channel without its zone: left to plan"));
      circuit.channel.reset();
    }
    if (!circuit.site || !circuit.zone) circuit.site.reset(), circuit.zone.reset();
    if (circuit.channel) check_address_twice(circuit);
  }

  void check_address_twice(const Circuit& circuit) {
    const model::Address address{*circuit.site, *circuit.zone, *circuit.channel};
    const auto [place, fresh] = addresses_at_.insert({address, row_});
    if (fresh) return;
    const Meaning where = columns_[Meaning::address] ? Meaning::address : Meaning::channel;
    wrong(where,
          tr("{} is given already in {}", to_string(address), cell_name(place->second, *columns_[where])));
  }

  void take_do_not_switch(Circuit& circuit) {
    const std::string& said = text(Meaning::do_not_switch);
    const auto yes = parse_yes(said);
    if (!yes) doubt(Meaning::do_not_switch, tr("'{}' is neither yes nor no: taken as yes, to be safe", said));
    circuit.do_not_switch = yes.value_or(true);
  }

  // --- plates ---

  /// Labels that lines without a circuit give to plates: they are not parted.
  void find_plate_lines() {
    for (row_ = layout_.first_row; row_ < table_.rows.size(); ++row_) {
      if (text(Meaning::circuit).empty() && !text(Meaning::plate).empty())
        known_plates_.insert(boost::to_lower_copy(text(Meaning::plate)));
    }
  }

  /// A line that says only where a plate is, and how it is set.
  void read_plate_line() {
    const std::string& said = text(Meaning::plate);
    if (said.empty() || said == "-") {
      if (!layout_.is_ours || text(Meaning::room).empty())
        return doubt_row(tr("a line without a circuit is left out"));
      return take_room();
    }
    take_room();
    SchedulePlate& plate = out_.plates[plate_called(line_of(Meaning::plate, max_label_characters))];
    if (!placed_.insert(plate.label).second)
      return doubt(Meaning::plate, tr("'{}' has a line of its own above", plate.label));
    plate.room = room_;
    const auto zone = number(Meaning::zone, 1, most_zones());
    auto site = number(Meaning::site, 0, most_sites());
    if (!site) site = options_.site_number;
    if (site && zone) plate.site = site, plate.zone = zone;
  }

  std::size_t plate_called(const std::string& label) {
    const auto [known, fresh] = plates_.insert({boost::to_lower_copy(label), out_.plates.size()});
    if (fresh) out_.plates.push_back({"", label, room_, {}, {}, false});
    return known->second;
  }

  /// "Hall door + Hall window" are two plates of one zone.
  void take_plate(Circuit& circuit) {
    const std::string& said = text(Meaning::plate);
    if (said == "-") return;
    for (const std::string& label : plate_labels(said, known_plates_)) {
      const std::size_t plate = plate_called(label);
      if (std::find(circuit.plates.begin(), circuit.plates.end(), plate) == circuit.plates.end())
        circuit.plates.push_back(plate);
    }
  }

  /// What the lines say of a plate's place and switches has to agree.
  void settle_plates() {
    std::vector<std::vector<std::string>> rooms(out_.plates.size());
    std::vector<std::size_t> first_rows(out_.plates.size());
    for (std::size_t i = 0; i < out_.circuits.size(); ++i) {
      Circuit& circuit = out_.circuits[i];
      row_ = rows_[i];
      for (const std::size_t index : circuit.plates) {
        if (rooms[index].empty()) first_rows[index] = row_;
        if (std::find(rooms[index].begin(), rooms[index].end(), circuit.room) == rooms[index].end())
          rooms[index].push_back(circuit.room);
        settle_switches(circuit, out_.plates[index]);
      }
    }
    for (std::size_t i = 0; i < out_.plates.size(); ++i) {
      row_ = first_rows[i];
      if (!placed_.contains(out_.plates[i].label)) place_plate(out_.plates[i], rooms[i]);
    }
  }

  void settle_switches(Circuit& circuit, SchedulePlate& plate) {
    if (!circuit.zone) return;
    if (!plate.zone) plate.site = circuit.site, plate.zone = circuit.zone;
    if (plate.site == circuit.site && plate.zone == circuit.zone) return;
    doubt(columns_[Meaning::zone] ? Meaning::zone : Meaning::address,
          tr("zone {}/{} here, and {}/{} for the same plate above: left to plan", *circuit.site,
             *circuit.zone, *plate.site, *plate.zone));
    circuit.site.reset(), circuit.zone.reset(), circuit.channel.reset();
  }

  void place_plate(SchedulePlate& plate, const std::vector<std::string>& serves) {
    const auto named = room_named(plate.label, serves, out_.rooms);
    plate.room = named.value_or(serves.front());
    if (named && std::find(serves.begin(), serves.end(), *named) == serves.end()) {
      doubt(Meaning::plate, tr("'{}' serves {}; by its name it is taken to be in {}", plate.label,
                               boost::join(serves, ", "), plate.room));
    } else if (!named && serves.size() > 1) {
      doubt(Meaning::plate,
            tr("'{}' serves {} rooms; it is taken to be in {}", plate.label, serves.size(), plate.room));
    }
  }

  // --- names ---

  void name_modules() {
    const std::size_t digits = std::to_string(out_.circuits.size()).size();
    std::size_t next = 0;
    for (Circuit& circuit : out_.circuits) {
      while (circuit.name.empty()) {
        const std::string name = fmt::format("M{:0{}}", ++next, digits);
        if (!modules_at_.contains(name)) circuit.name = name;
      }
    }
  }

  void note_dimming() {
    if (without_dimming_ == 0) return;
    out_.notes.push_back(
        plural("how one load is dimmed is not said: trailing edge, where a module can carry it so",
               "how {} loads are dimmed is not said: trailing edge, where a module can carry it so",
               without_dimming_, without_dimming_));
  }

  const Table& table_;
  const Layout& layout_;
  const ScheduleOptions& options_;
  sim::ByEnum<Meaning, std::optional<std::size_t>> columns_;
  Schedule out_;
  std::vector<std::size_t> rows_;  ///< of each circuit
  std::size_t row_ = 0;
  std::string room_, floor_;
  std::size_t without_dimming_ = 0;
  std::map<std::string, std::set<std::string>> floors_of_;
  std::map<std::pair<std::string, std::string>, std::size_t> circuits_at_;
  std::map<std::string, std::size_t> modules_at_, plates_;
  std::map<model::Address, std::size_t> addresses_at_;
  std::set<std::string> known_plates_;  ///< in lower case
  std::set<std::string> placed_;        ///< labels of plates whose room a line of their own says
};

}  // namespace

Schedule read_schedule(const Table& table, const Layout& layout, const ScheduleOptions& options) {
  return ScheduleReader{table, layout, options}.read();
}

std::string remarks_text(const std::vector<Remark>& remarks, bool wrong) {
  constexpr std::size_t most = 50;
  std::string text;
  std::size_t told = 0;
  for (const Remark& remark : remarks) {
    if (remark.wrong != wrong) continue;
    if (++told <= most) text += fmt::format("  {}: {}\n", cell_name(remark.row, remark.column), remark.text);
  }
  if (told > most) text += tr("  and {} more\n", told - most);
  return text;
}

}  // namespace drybus::tools
