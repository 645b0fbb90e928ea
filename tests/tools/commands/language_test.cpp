// In which words a command speaks: those of --language, else of the environment; programs read the same in all.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tools/words/languages.h"

namespace {

using namespace drybus::tests;

const std::string scenario = "scenarios/training/setup-split.yaml";

bool has_words(const std::string& text, const std::string& words) {
  return text.find(words) != std::string::npos;
}

/// `settings` such as "LC_ALL=C LANG=de_DE"; nothing else is said of languages.
Ran in_environment(const std::string& settings, const std::string& arguments) {
  return shell("unset LC_ALL LC_MESSAGES LANG LANGUAGE; export DRYBUS_NOTHING= " + settings + "; drybus " +
               arguments);
}

TEST_CASE("a command speaks the language of --language, wherever it stands") {
  for (const std::string arguments :
       {"--language de --help", "--help --language de", "--help --language=de", "--language=de --help"}) {
    CAPTURE(arguments);
    const Ran ran = drybus_program(arguments);
    CHECK(ran.exit_code == 0);
    CHECK(has_words(ran.out, "ein Trockenlauf"));
    CHECK(has_words(ran.out, "drybus building [Optionen]"));
    CHECK(!has_words(ran.out, "a dry run"));
  }
  const Ran help = drybus_program("run --help --language de");
  CHECK(help.exit_code == 0);
  CHECK(has_words(help.out, "Aufruf: drybus run SCENARIO [Optionen]"));
  CHECK(has_words(help.out, "Optionen:\n"));
  CHECK(has_words(help.out, "diese Hilfe zeigen"));
  CHECK(has_words(drybus_program("--language de run --help").out, "diese Hilfe zeigen"));
}

TEST_CASE("help in English is as it was, with one option more") {
  const Ran help = drybus_program("run --help");
  CHECK(has_words(help.out, "usage: drybus run SCENARIO [options]\n\noptions:\n  -h [ --help ] "));
  CHECK(has_words(help.out, "  --format arg (=text) "));
  CHECK(has_words(help.out, "  --language arg "));
}

TEST_CASE("what is wrong with a command line is told in the language that it names") {
  const auto complaint = [](const std::string& arguments) {
    const Ran ran = drybus_program(arguments + " --language de");
    CHECK(ran.exit_code == 2);
    return ran.err;
  };
  CHECK(has_words(complaint("rnu"), "„rnu“ ist kein Befehl. Meinten Sie „run“?"));
  CHECK(has_words(complaint("run"), "es fehlt: SCENARIO\nAufruf: "));
  CHECK(has_words(complaint("run --seed 3 --formt json"), "unbekannte Option „--formt“"));
  CHECK(has_words(complaint("run --seed 3 --seed 4"), "Option „--seed“ darf nur einmal angegeben werden"));
  CHECK(has_words(complaint("run --most 4"), "Option „--most“ ist mehrdeutig und passt zu '--most-events', "));
  CHECK(has_words(complaint("run " + scenario + " --seed much"), "„much“ ist keine ganze Zahl"));
  CHECK(
      has_words(complaint("run " + scenario + " --firmware module="), "der Pfad einer Programmbibliothek fehlt"));
}

TEST_CASE("in English the library's own complaints are told as it tells them") {
  CHECK(
      has_words(drybus_program("run --most 4").err,
           "option '--most' is ambiguous and matches '--most-events', '--most-memory', '--most-record', and "
           "'--most-time'\nusage: "));
  CHECK(has_words(drybus_program("run --seed").err,
             "the required argument for option '--seed' is missing\nusage: "));
}

TEST_CASE("without --language the environment decides, as gettext reads it") {
  struct Case {
    std::string settings;
    bool german;
  };
  for (const Case& each :
       {Case{"LC_ALL=de_DE.UTF-8", true}, Case{"LC_ALL=C LANG=de_DE.UTF-8", false},
        Case{"LC_ALL=POSIX LC_MESSAGES=de_DE", false}, Case{"LC_MESSAGES=de_AT@euro LANG=C", true},
        Case{"LANG=de", true}, Case{"LC_ALL= LANG=de_CH.UTF-8", true},
        Case{"LC_ALL=fr_FR.UTF-8 LANG=de_DE", false}, Case{"LANG=den_XX", false}, Case{"", false}}) {
    CAPTURE(each.settings);
    CHECK(has_words(in_environment(each.settings, "--help").out, "ein Trockenlauf") == each.german);
    CHECK(has_words(in_environment(each.settings, "run").err, "es fehlt: SCENARIO") == each.german);
  }
  CHECK(has_words(in_environment("LC_ALL=de_DE.UTF-8", "--help --language en").out, "a dry run"));
  CHECK(has_words(in_environment("LC_ALL=de_DE.UTF-8", "run --language en").err, "SCENARIO is missing"));
}

TEST_CASE("a language that the program lacks is refused, and the nearest named") {
  for (const std::string& arguments :
       {std::string{"--help"}, std::string{"run "} + scenario, "check " + scenario}) {
    CAPTURE(arguments);
    const Ran ran = drybus_program(arguments + " --language dee");
    CHECK(ran.exit_code == 2);
    CHECK(ran.out.empty());
    CHECK(ran.err == "drybus: --language: unknown language 'dee'; expected de or en. Did you mean 'de'?\n");
  }
  CHECK(drybus_program("run " + scenario + " --language").exit_code == 2);
  CHECK(has_words(in_environment("LANG=de_DE", "--help --language xx").err, "unbekannte Sprache „xx“"));
}

TEST_CASE("what programs read is the same in every language") {
  const Folder folder;
  for (const std::string& arguments :
       {"run " + scenario + " --format json", "why " + scenario + " M1.address --format json",
        "recover " + scenario + " --format json", std::string{"family wired-keypad --format json"},
        "diff " + scenario + " scenarios/training/unaddressed.yaml --format json",
        std::string{"names questions "} + scenario, std::string{"names families"}}) {
    CAPTURE(arguments);
    const Ran english = drybus_program(arguments);
    const Ran german = drybus_program(arguments + " --language de");
    CHECK(!english.out.empty());
    CHECK(english.out == german.out);
    CHECK(english.err == german.err);
    CHECK(english.exit_code == german.exit_code);
  }
  for (const std::string option : {"record", "vcd", "capsule", "pcapng"}) {
    CAPTURE(option);
    const auto written = [&](const std::string& language) {
      const std::string path = folder.file(option + "-" + language);
      const Ran ran =
          drybus_program("run " + scenario + " --" + option + " " + path + " --language " + language);
      CHECK(ran.exit_code != 2);
      return content_of(path);
    };
    CHECK(written("en") == written("de"));
  }
  for (const std::string kind : {"man", "completions", "pages"}) {
    CAPTURE(kind);
    const std::string english = folder.file(kind + "-en"), german = folder.file(kind + "-de");
    CHECK(drybus_program("reference " + kind + " " + english).exit_code == 0);
    CHECK(drybus_program("reference " + kind + " " + german + " --language de").exit_code == 0);
    CHECK(shell("diff -r " + english + " " + german).exit_code == 0);
  }
}

TEST_CASE("the story of a run and what firmware does in a process of its own are told in German") {
  const Ran english = drybus_program("run " + scenario);
  const Ran german = drybus_program("run " + scenario + " --language de");
  CHECK(german.exit_code == english.exit_code);
  CHECK(german.out != english.out);
  const Ran refused = drybus_program("run " + scenario + " --firmware nowhere=x.so --language de");
  CHECK(refused.exit_code == 2);
  CHECK(has_words(refused.err, "erwartet wird module=PATH oder plate=PATH."));
}

TEST_CASE("the language of a locale is what stands before its country, its code or its kind") {
  using drybus::tools::language_of_locale;
  CHECK(language_of_locale("de_DE.UTF-8") == "de");
  CHECK(language_of_locale("de.UTF-8") == "de");
  CHECK(language_of_locale("de@euro") == "de");
  CHECK(language_of_locale("de") == "de");
  for (const std::string other : {"", "C", "POSIX", "C.UTF-8", "fr_FR", "d", "DE", "_de"})
    CHECK(language_of_locale(other) == "en");
}

}  // namespace
