// Texts in other languages: catalogues as gettext compiles them, plural forms, which language somebody reads, and what stays as it is.
#include <doctest/doctest.h>

#include <boost/json.hpp>
#include <stdexcept>
#include <vector>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tools/words/languages.h"
#include "tools/words/plural_rule.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace drybus::tools;
using namespace std::chrono_literals;

struct FormOf {
  std::uint64_t n;
  std::uint64_t form;
};
struct Language {
  std::string_view formula;
  std::vector<FormOf> forms;
};

/// What msgfmt makes of a text.
std::string compiled(const std::string& po) {
  const Folder folder;
  const Ran ran = shell("msgfmt -o " + folder.file("t.mo") + " " + folder.write("t.po", po));
  REQUIRE_MESSAGE(ran.exit_code == 0, ran.err);
  return content_of(folder.file("t.mo"));
}

const std::string polish = R"(msgid ""
msgstr ""
"Language: pl\n"
"Content-Type: text/plain; charset=UTF-8\n"
"Plural-Forms: nplurals=3; plural=n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2;\n"

msgid "{} hint"
msgid_plural "{} hints"
msgstr[0] "{} wskazówka"
msgstr[1] "{} wskazówki"
msgstr[2] "{} wskazówek"

msgid "wait {}"
msgstr "czekać {}"

msgctxt "link"
msgid "open"
msgstr "przerwane"

msgctxt "decimal mark"
msgid "."
msgstr ","
)";

}  // namespace

TEST_SUITE("words") {
  // The formulas of GNU gettext's manual, "Plural forms"; tests/browser/page_modules_test.mjs has the same.
  TEST_CASE("a count takes the form that its language has for it") {
    const std::vector<Language> languages{
        {"0", {{0, 0}, {1, 0}, {5, 0}}},
        {"n != 1", {{0, 1}, {1, 0}, {2, 1}}},
        {"n>1", {{0, 0}, {1, 0}, {2, 1}}},
        {"n%10==1 && n%100!=11 ? 0 : n != 0 ? 1 : 2", {{0, 2}, {1, 0}, {11, 1}, {21, 0}, {30, 1}}},
        {"n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2",
         {{1, 0}, {2, 1}, {5, 2}, {12, 2}, {22, 1}, {112, 2}}},
        {"n%100==1 ? 0 : n%100==2 ? 1 : n%100==3 || n%100==4 ? 2 : 3",
         {{1, 0}, {102, 1}, {4, 2}, {5, 3}, {101, 0}}},
        {"n==0 ? 0 : n==1 ? 1 : n==2 ? 2 : n%100>=3 && n%100<=10 ? 3 : n%100>=11 ? 4 : 5",
         {{0, 0}, {1, 1}, {2, 2}, {7, 3}, {111, 4}, {100, 5}}}};
    for (const Language& language : languages) {
      CAPTURE(language.formula);
      const PluralRule rule{language.formula};
      for (const auto& [n, form] : language.forms) CHECK(rule.form(n) == form);
    }
    for (const char* wrong : {"", "n +", "(n", "m", "n n", "alert(1)", "1 ? 2", "12345678901"}) {
      CAPTURE(wrong);
      CHECK_THROWS_AS(PluralRule{wrong}, std::invalid_argument);
    }
    CHECK_THROWS_AS(PluralRule{std::string(10'000, '(')}, std::invalid_argument);
    CHECK(PluralRule{"n / 0 + n % 0"}.form(3) == 0);
  }

  TEST_CASE(
      "a catalogue of gettext's gives texts, forms and what is meant by a word; the page's is the same") {
    const Catalogue read = Catalogue::from_mo(compiled(polish));
    const Catalogue again = Catalogue::from_page(read.page_json());
    for (const Catalogue* catalogue : {&read, &again}) {
      CHECK(catalogue->language() == "pl");
      CHECK(catalogue->size() == 4);
      CHECK(catalogue->text("", "wait {}") == "czekać {}");
      CHECK(catalogue->text("link", "open") == "przerwane");
      CHECK(catalogue->text("", "open") == "open");
      CHECK(catalogue->plural("{} hint", "{} hints", 1) == "{} wskazówka");
      CHECK(catalogue->plural("{} hint", "{} hints", 3) == "{} wskazówki");
      CHECK(catalogue->plural("{} hint", "{} hints", 12) == "{} wskazówek");
      CHECK(catalogue->plural("{} lamp", "{} lamps", 2) == "{} lamps");
    }
  }

  TEST_CASE("what is no catalogue, or ends too soon, is refused") {
    const std::string whole = compiled(polish);
    CHECK_THROWS_AS(Catalogue::from_mo(""), std::invalid_argument);
    CHECK_THROWS_AS(Catalogue::from_mo("no catalogue at all"), std::invalid_argument);
    for (std::size_t bytes = 0; bytes + 1 < whole.size(); ++bytes) {
      CHECK_THROWS_AS(Catalogue::from_mo(std::string_view{whole}.substr(0, bytes)), std::invalid_argument);
    }
  }

  TEST_CASE("words are spoken by one thread as long as somebody says, and then no more") {
    const Catalogue catalogue = Catalogue::from_mo(compiled(polish));
    CHECK(model::tr("wait {}", 3) == "wait 3");
    CHECK(model::duration_text(2700ms) == "2.7 s");
    {
      const model::Speaking speaking{&catalogue};
      CHECK(model::tr("wait {}", 3) == "czekać 3");
      CHECK(model::plural("{} hint", "{} hints", 5, 5) == "5 wskazówek");
      CHECK(model::tr_as("link", "open") == "przerwane");
      CHECK(model::duration_text(2700ms) == "2,7 s");
      {
        const model::Speaking as_written{nullptr};
        CHECK(model::duration_text(2700ms) == "2.7 s");
      }
      CHECK(model::tr("not in it") == "not in it");
    }
    CHECK(model::tr("wait {}", 3) == "wait 3");
  }

  TEST_CASE("of what a browser would rather read the first is spoken that the program carries") {
    CHECK(best_language("") == "en");
    CHECK(best_language("de") == "de");
    CHECK(best_language("de-AT,de;q=0.9,en;q=0.8") == "de");
    CHECK(best_language("fr, DE-ch;q=0.7, en;q=0.3") == "de");
    CHECK(best_language("en-US,en;q=0.9,de;q=0.5") == "en");
    CHECK(best_language("en;q=0.2,de;q=0.8") == "de");
    CHECK(best_language("fr,it;q=0.5,*;q=0.1") == "en");
    CHECK(best_language("de;q=0") == "en");
    CHECK(best_language(",,;q=,de;q=x,\x01") == "en");
    CHECK(languages() == std::vector<std::string>{"de", "en"});
    REQUIRE(words_of("de") != nullptr);
    CHECK(words_of("de")->size() > 600);
    CHECK(words_of("en") == nullptr);
    CHECK(
        boost::json::parse(boost::json::string_view{words_for_page("de").data(), words_for_page("de").size()})
            .at("language")
            .as_string() == "de");
  }

  TEST_CASE("a lesson is told and judged in German; JSON and CSV are the same in every language") {
    const Folder folder;
    const std::string lesson = "teach scenarios/lessons/one-step-too-far.yaml";
    const std::string answers = " --answers " + folder.write("answers.txt", "1\nhint\n2\n");
    const Ran told = drybus_program(lesson + answers + " --language de");
    CAPTURE(told.out);
    CHECK(told.exit_code == 1);
    CHECK(told.out.find("Das stimmt nicht. Noch einmal.") != std::string::npos);
    CHECK(told.out.find("Hinweis: ") != std::string::npos);
    CHECK(told.out.find("Das ist richtig.") != std::string::npos);
    CHECK(told.out.find("That is") == std::string::npos);
    for (const std::string& options : {std::string{" --format json"}, answers + " --format json"}) {
      const Ran english = drybus_program(lesson + options);
      const Ran german = drybus_program(lesson + options + " --language de");
      CHECK(english.out == german.out);
      CHECK(!english.out.empty());
    }
    const Ran unknown = drybus_program(lesson + " --language xx");
    CHECK(unknown.exit_code == 2);
    CHECK(unknown.err.find("unknown language 'xx'; expected de or en") != std::string::npos);
  }
}
