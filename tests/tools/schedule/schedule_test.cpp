// Sheets as spreadsheets write them, and everything doubtful in them told by its cell.
#include "tools/schedule/schedule.h"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>

#include "tests/support/files.h"
#include "tests/support/printing.h"
#include "tests/support/program.h"
#include "tools/base/unusable.h"
#include "tools/schedule/csv.h"
#include "tools/schedule/encoding.h"
#include "tools/schedule/entries.h"

namespace {

using namespace drybus::tools;
using drybus::tests::Folder;

Schedule schedule_of_text(const std::string& text, const std::string& columns = {},
                          std::optional<std::uint8_t> number = {}) {
  const Table table = read_csv("s.csv", text);
  const Layout layout = guess_layout(table, columns.empty() ? ToldColumns{} : parse_told_columns(columns));
  ScheduleOptions options;
  options.site_number = number;
  return read_schedule(table, layout, options);
}

std::vector<std::string> told(const Schedule& schedule) {
  std::vector<std::string> lines;
  for (const Remark& remark : schedule.remarks)
    lines.push_back(
        fmt::format("{}{}: {}", remark.wrong ? "!" : "", cell_name(remark.row, remark.column), remark.text));
  return lines;
}

bool tells(const Schedule& schedule, const std::string& begin) {
  const auto lines = told(schedule);
  const bool found = std::any_of(lines.begin(), lines.end(),
                                 [&](const std::string& line) { return line.starts_with(begin); });
  if (!found) {
    for (const std::string& line : lines) MESSAGE(line);
  }
  return found;
}

TEST_CASE("cells are named as spreadsheets name them") {
  CHECK(cell_name(6, 1) == "B7");
  CHECK(cell_name(0, 25) == "Z1");
  CHECK(cell_name(99, 26) == "AA100");
  CHECK(cell_name(0, 701) == "ZZ1");
  CHECK(cell_name(0, 702) == "AAA1");
}

TEST_CASE("marks beside a description are what the modules are called, and the description is the label") {
  const Schedule marked =
      schedule_of_text("Circuit;Room;Description;Load W\nC1;Hall;Pendant;60\nC2;Hall;Wall lights;75\n");
  REQUIRE(marked.circuits.size() == 2);
  CHECK(marked.circuits[0].name == "C1");
  CHECK(marked.circuits[0].label == "Pendant");
  // Without one, the marks are all there is to say.
  const Schedule alone = schedule_of_text("Circuit;Room;Load W\nC1;Hall;60\nC2;Hall;75\n");
  CHECK(alone.circuits[0].label == "C1");
}

TEST_CASE("the same sheet is read whatever separates its cells and however it is encoded") {
  const std::string plain = "Room;Circuit;Load W\nCaf\xC3\xA9;Pendant;60\nCaf\xC3\xA9;Wall lights;7,5\n";
  const auto utf16 = [&plain](bool little) {
    std::string bytes = little ? "\xFF\xFE" : "\xFE\xFF";
    for (std::size_t i = 0; i < plain.size(); ++i) {
      unsigned code = static_cast<unsigned char>(plain[i]);
      if (code == 0xC3) code = 0xC0u + (static_cast<unsigned char>(plain[++i]) & 0x3Fu);
      const char low = static_cast<char>(code & 0xFF), high = static_cast<char>(code >> 8);
      bytes += little ? std::string{low, high} : std::string{high, low};
    }
    return bytes;
  };
  std::string latin = plain;
  for (std::size_t at; (at = latin.find("\xC3\xA9")) != std::string::npos;) latin.replace(at, 2, "\xE9");
  std::string tabs = plain;
  std::replace(tabs.begin(), tabs.end(), ';', '\t');
  for (const std::string& text :
       {plain, "\xEF\xBB\xBF" + plain, utf16(true), utf16(false), latin, tabs, "sep=;\n" + plain}) {
    const Schedule schedule = schedule_of_text(text);
    REQUIRE(schedule.circuits.size() == 2);
    CHECK(schedule.rooms == std::vector<std::string>{"Caf\xC3\xA9"});
    CHECK(schedule.circuits[0].label == "Pendant");
    CHECK(schedule.circuits[0].watts == 60.0);
    CHECK(schedule.circuits[1].watts == 7.5);
    CHECK(schedule.remarks.empty());
  }
  const Schedule commas = schedule_of_text(
      "Room,Circuit,Load\r\nHall,\"Pendant, large\",\"1.5 kW\"\r\n\"Hall\",\"The \"\"old\"\" one\",60\r\n");
  REQUIRE(commas.circuits.size() == 2);
  CHECK(commas.circuits[0].label == "Pendant, large");
  CHECK(commas.circuits[0].watts == 1500.0);
  CHECK(commas.circuits[1].label == "The \"old\" one");
}

TEST_CASE("powers are read as people write them") {
  CHECK(parse_load("60").watts == 60.0);
  CHECK(parse_load("60 W").watts == 60.0);
  CHECK(parse_load("0,06 kW").watts == 60.0);
  CHECK(parse_load("6 x 7.5 W").watts == 45.0);
  CHECK(parse_load("2x58W + 36").watts == 152.0);
  CHECK(parse_load("1.200,50").watts == 1200.5);
  CHECK(parse_load("1,200").watts == 1200.0);
  CHECK(parse_load("1,200").doubt == "'1,200' is taken as 1200");
  CHECK(parse_load("0,500").watts == 0.5);
  CHECK(parse_load("0,0605", true).watts == 60.5);
  CHECK(parse_load("0.06 + 40 W", true).watts == 100.0);
  CHECK_FALSE(parse_load("1200", true).watts);  // a million watts are no circuit
  for (const char* none :
       {"", "W", "sixty", "60 V", "-5", "60 W!", "1e9", "99999999999999999999", "6 x", "NaN"}) {
    CAPTURE(none);
    CHECK_FALSE(parse_load(none).watts);
  }
}

TEST_CASE("headings may take two rows and merged cells, and stand below a title") {
  const Schedule schedule = schedule_of_text(
      "Lighting schedule;;;;\n;;;;\nRoom;Circuit;Load;;Plate\n;;W;dimming;\nHall;Pendant;60;leading "
      "edge;Hall door\n"
      ";Wall lights;80;relay;Hall door\nStudy;Desk;40;;Study\nTotal;;180;;\n");
  REQUIRE(schedule.circuits.size() == 3);
  CHECK(schedule.circuits[1].room == "Hall");
  CHECK(schedule.circuits[0].dimming == drybus::model::Dimming::leading_edge);
  CHECK(schedule.circuits[1].dimming == drybus::model::Dimming::switched);
  CHECK(schedule.circuits[2].watts == 40.0);
  REQUIRE(schedule.plates.size() == 2);
  CHECK(schedule.plates[0].label == "Hall door");
  CHECK(schedule.circuits[0].plates == schedule.circuits[1].plates);
  CHECK(tells(schedule, "A8: 'Total': a line of totals is left out"));
}

TEST_CASE("columns can be told, and a wrong column is refused with those that are there") {
  const std::string text = "a;b;c\nHall;Pendant;60\nHall;Spots;50\n";
  const Schedule schedule = schedule_of_text(text, "room=A,circuit=b,load=C");
  REQUIRE(schedule.circuits.size() == 2);
  CHECK(schedule.circuits[1].label == "Spots");
  for (const char* wrong : {"room=Q", "rom=A", "room", "room=A,room=B", "room=A,circuit=A", "="}) {
    CAPTURE(wrong);
    CHECK_THROWS_AS(schedule_of_text(text, wrong), Unusable);
  }
}

TEST_CASE("what is doubtful is told by its cell, and what is wrong leaves no schedule") {
  const Schedule schedule = schedule_of_text(
      "Room;Circuit;Load W;Zone;Channel;Do not switch\n"
      "Hall;Pendant;many;;;\n"        // 2
      "Hall;pendant;60;;;\n"          // 3: twice
      "Hall;Spots;=SUM(C2:C3);;;\n"   // 4: formula
      "Hall;#REF!;60;;;\n"            // 5: failed
      "Hall;Niche;1,200;;;perhaps\n"  // 6
      "Hall;Wall;60;3;300;\n"         // 7
      "Hall;Cove;60;3;1;\n"           // 8: no site number
      "Hall;;60;;;\n");               // 9: no circuit
  CHECK(tells(schedule, "C2: 'many' is no power"));
  CHECK(tells(schedule, "!B3: 'pendant' in Hall is already in B2"));
  CHECK(tells(schedule, "!C4: '=SUM(C2:C3)' is a formula without a result"));
  CHECK(tells(schedule, "!B5: '#REF!' is a formula"));
  CHECK(tells(schedule, "C6: '1,200' is taken as 1200 W"));
  CHECK(tells(schedule, "F6: 'perhaps' is neither yes nor no: taken as yes"));
  CHECK(tells(schedule, "E7: '300' is no channel"));
  CHECK(tells(schedule, "E8: a zone and a channel without a site number"));
  CHECK(tells(schedule, "A9: 'Hall': a line without a circuit is left out"));
}

TEST_CASE("a zone and a channel with a site number are an address, and nobody has it twice") {
  const std::string text = "Room;Circuit;Zone;Channel\nHall;Pendant;3;1\nHall;Spots;3;2\n";
  const Schedule schedule = schedule_of_text(text, {}, std::uint8_t{23});
  CHECK(schedule.remarks.empty());
  CHECK(schedule.circuits[1].site == 23);
  CHECK(schedule.circuits[1].channel == 2);
  CHECK(tells(schedule_of_text(text + "Hall;Cove;3;2\n", {}, std::uint8_t{23}),
              "!D4: 23/3/2 is given already in D3"));
  const Schedule addresses = schedule_of_text("Room,Circuit,Address\nHall,Pendant,23/4/1\nHall,Spots,23/4\n");
  CHECK(addresses.circuits[0].zone == 4);
  CHECK(tells(addresses, "C3: '23/4' is no address"));
}

TEST_CASE("rooms of one name on two floors are two rooms, and a heading that stands alone is a room") {
  const Schedule floors = schedule_of_text("Floor;Room;Circuit\nGround;Hall;Pendant\nFirst;Hall;Pendant\n");
  CHECK(floors.rooms == std::vector<std::string>{"Hall, Ground", "Hall, First"});
  CHECK(floors.circuits[0].label == "Hall, Ground, Pendant");
  const Schedule headings =
      schedule_of_text("Circuit;Load W\nHall;\nPendant;60\nSpots;50\nStudy;\nDesk;40\n");
  CHECK(headings.rooms == std::vector<std::string>{"Hall", "Study"});
  CHECK(headings.circuits[2].room == "Study");
}

TEST_CASE("a plate is in the room that its name says, and a line of its own says so in any case") {
  const std::string text =
      "Room;Circuit;Plate\nStairs;Steps;Hall plate\nHall;Pendant;\nStudy;Desk;Shallow plate\n";
  Schedule named = schedule_of_text(text);
  CHECK(named.plates.at(0).room == "Hall");
  CHECK(named.plates.at(1).room == "Study");  // "hall" is no word of it
  CHECK(tells(named, "C2: 'Hall plate' serves Stairs; by its name it is taken to be in Hall"));
  Schedule told = schedule_of_text(text + "Attic;;Hall plate\n");
  CHECK(told.plates.at(0).room == "Attic");
  CHECK(told.circuits.size() == 3);
  give_plates(named, nullptr);
  CHECK(named.plates.at(named.circuits.at(1).plates.front()).label == "Hall plate");
}

TEST_CASE(
    "words under the only load are told, a room called Summer house is no sum, and no circuit is wrong") {
  CHECK(tells(schedule_of_text("Room;Circuit;Load W\nHall;Pendant;some\n"), "C2: 'some' is no power"));
  const Schedule summer = schedule_of_text("Room;Circuit;Load W\nSummer house;Lamp;60\nTotal:;;60\n");
  REQUIRE(summer.circuits.size() == 1);
  CHECK(tells(summer, "A3: 'Total:': a line of totals is left out"));
  CHECK(tells(schedule_of_text("Room;Circuit;Load W\nTotal;;60\n"), "!B2: no circuit stands here"));
}

TEST_CASE("a sheet that cannot be read is refused, with the cell") {
  const auto refusal = [](const std::string& bytes) -> std::string {
    try {
      read_csv("s.csv", bytes);
    } catch (const Unusable& unusable) {
      return unusable.what();
    }
    return "";
  };
  CHECK(refusal("Room;Circuit\nHall;\"Pendant\nHall;Spots\n")
            .starts_with("s.csv: B2: a quotation mark begins here"));
  CHECK(refusal(std::string("a\0\x01\x02 b", 6)) == "s.csv: this is no text");
  CHECK(refusal("Room;Circuit\nHall;" + std::string(400, 'x') + "\n")
            .starts_with("s.csv: B2: a cell of 400 characters"));
  CHECK(refusal(std::string(400, ';')).find("row 1 has more than 256 cells") != std::string::npos);
  CHECK(refusal(std::string(150'000, '\n')).find("more than 100000 rows") != std::string::npos);
  CHECK_THROWS_AS(guess_layout(read_csv("s.csv", "1;2\n3;4\n")), Unusable);
}

TEST_CASE("fifty thousand lines are told by the cell at which they become too many") {
  std::string text = "Room;Circuit;Load W\n";
  for (int i = 0; i < 50'000; ++i) text += fmt::format("Room {};Circuit {};60\n", i % 100, i);
  const Schedule schedule = schedule_of_text(text);
  CHECK(tells(schedule, "!B5002: more than 5000 circuits"));
  CHECK(schedule.circuits.size() == max_circuits);
}

TEST_CASE("rooms without a plate get one, and one more where the circuits are more than its channels") {
  std::string text = "Room;Circuit;Plate\nStudy;Desk;Study door\n";
  for (int i = 1; i <= 14; ++i) text += fmt::format("Hall;Circuit {};\n", i);
  Schedule schedule = schedule_of_text(text);
  give_plates(schedule, nullptr);
  REQUIRE(schedule.plates.size() == 3);
  CHECK(schedule.plates[0].label == "Study door");
  CHECK(schedule.plates[1].label == "Hall plate");
  CHECK(schedule.plates[2].label == "Hall plate 2");
  CHECK(schedule.plates[2].name == "P3");
  CHECK(std::count_if(schedule.circuits.begin(), schedule.circuits.end(), [](const Circuit& circuit) {
          return circuit.plates == std::vector<std::size_t>{2};
        }) == 2);
}

// An OpenDocument file as ISO/IEC 26300 has it, written by Python's zipfile: an independent hand.
std::string ods(const Folder& folder, const std::string& rows) {
  const std::string xml =
      "<?xml version=\"1.0\"?><office:document-content "
      "xmlns:office=\"urn:oasis:names:tc:opendocument:xmlns:office:1.0\" "
      "xmlns:table=\"urn:oasis:names:tc:opendocument:xmlns:table:1.0\" "
      "xmlns:text=\"urn:oasis:names:tc:opendocument:xmlns:text:1.0\" "
      "xmlns:calcext=\"urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0\">"
      "<office:body><office:spreadsheet><table:table table:name=\"Lights\">" +
      rows + "</table:table></office:spreadsheet></office:body></office:document-content>";
  const std::string content = folder.write("content.xml", xml);
  const std::string path = folder.file("s.ods");
  drybus::tests::shell(
      fmt::format("python3 -c \"import zipfile; z=zipfile.ZipFile('{0}','w',zipfile.ZIP_DEFLATED); "
                  "z.writestr('mimetype','application/vnd.oasis.opendocument.spreadsheet'); "
                  "z.write('{1}','content.xml'); z.close()\"",
                  path, content));
  return path;
}

std::string text_cell(const std::string& text) {
  return "<table:table-cell office:value-type=\"string\"><text:p>" + text + "</text:p></table:table-cell>";
}

TEST_CASE("an OpenDocument sheet is read: numbers as stored, merged and repeated cells, comments left out") {
  const Folder folder;
  const std::string path =
      ods(folder,
          "<table:table-row><table:table-cell "
          "table:number-columns-spanned=\"3\"><text:p>Lights</text:p></table:table-cell>"
          "<table:covered-table-cell table:number-columns-repeated=\"2\"/></table:table-row>"
          "<table:table-row>" +
              text_cell("Room") + text_cell("Circuit") + text_cell("Load W") +
              "</table:table-row>"
              "<table:table-row>" +
              text_cell("Hall") +
              "<table:table-cell "
              "office:value-type=\"string\"><office:annotation><text:p>ask</text:p></office:annotation>"
              "<text:p>Wall<text:s/>lights</text:p></table:table-cell>"
              "<table:table-cell office:value-type=\"float\" "
              "office:value=\"7.5\"><text:p>7,50</text:p></table:table-cell></table:table-row>"
              "<table:table-row>" +
              text_cell("Hall") + text_cell("Spots") +
              "<table:table-cell table:formula=\"of:=1/0\" office:value-type=\"string\" "
              "calcext:value-type=\"error\">"
              "<text:p>#DIV/0!</text:p></table:table-cell></table:table-row>"
              "<table:table-row table:number-rows-repeated=\"1048570\"><table:table-cell "
              "table:number-columns-repeated=\"16384\"/></table:table-row>");
  const Table table = read_table(path);
  CHECK(table.format == "OpenDocument, sheet 'Lights'");
  CHECK(table.rows.size() == 4);
  CHECK(table.at(0, 1).covered);
  CHECK(table.at(2, 1).text == "Wall lights");
  CHECK(table.at(2, 2).text == "7.5");
  const Schedule schedule = read_schedule(table, guess_layout(table));
  CHECK(tells(schedule, "!C4: '#DIV/0!' is a formula"));
  CHECK_THROWS_AS(read_table(path, "Sounds"), Unusable);
}

TEST_CASE("a spreadsheet that would unfold without end, is damaged or is another archive is refused") {
  const Folder folder;
  const std::string many =
      "<table:table-row table:number-rows-repeated=\"2000000\">" + text_cell("x") + "</table:table-row>";
  CHECK_THROWS_AS(read_table(ods(folder, many)), Unusable);
  const std::string wide =
      "<table:table-row><table:table-cell "
      "table:number-columns-repeated=\"5000\"><text:p>x</text:p></table:table-cell></table:table-row>";
  CHECK_THROWS_AS(read_table(ods(folder, wide)), Unusable);
  CHECK_THROWS_AS(read_table(ods(folder, "<table:table-row>")), Unusable);
  CHECK_THROWS_AS(read_table(folder.write("no.ods", std::string("PK\x03\x04 and no more"))), Unusable);
  const std::string bomb = folder.file("bomb.ods");
  drybus::tests::shell(
      fmt::format("python3 -c \"import zipfile; z=zipfile.ZipFile('{0}','w',zipfile.ZIP_DEFLATED); "
                  "z.writestr('content.xml', '<a>'+' '*(80*1024*1024)+'</a>'); z.close()\"",
                  bomb));
  CHECK_THROWS_AS(read_table(bomb), Unusable);
}

TEST_CASE("a line of CSV that is written is read back") {
  const std::vector<std::string> cells = {"plain", "with, comma",     "a \"quoted\" word", "=SUM(A1)",
                                          "",      "caf\xC3\xA9; bar"};
  const Table table =
      read_csv("s.csv", csv_line(std::vector<std::string>{"a", "b", "c", "d", "e", "f"}) + csv_line(cells));
  REQUIRE(table.rows.size() == 2);
  for (std::size_t i = 0; i < cells.size(); ++i) CHECK(table.at(1, i).text == cells[i]);
}

}  // namespace
