// Runs the tests of sim/ with one mutant awake, or tells which test cases come to which mutants.
//   DRYBUS_MUTANT=N        mutant N is awake
//   DRYBUS_REACHED=FILE    no mutant is; a line for each test case: seconds, name, mutants (tabs between)
#define DOCTEST_CONFIG_IMPLEMENT
#include <doctest/doctest.h>

#include <cstdlib>
#include <ctime>
#include <fstream>

#include "mutant.h"

namespace {

class Reached final : public doctest::IReporter {
 public:
  explicit Reached(const doctest::ContextOptions&) {
    if (const char* path = std::getenv("DRYBUS_REACHED")) file_.open(path);
  }

  void test_case_start(const doctest::TestCaseData& test) override {
    name_ = test.m_name;
    for (auto& mark : mutant::reached) mark = 0;
    begun_ = std::clock();
  }

  void test_case_end(const doctest::CurrentTestCaseStats&) override {
    if (!file_.is_open()) return;
    // Of the processor: the machine may be busy.
    const double seconds = static_cast<double>(std::clock() - begun_) / CLOCKS_PER_SEC;
    file_ << seconds << '\t' << name_ << '\t';
    for (unsigned number = 1; number < mutant::most; ++number) {
      if (mutant::reached[number] != 0) file_ << number << ' ';
    }
    file_ << std::endl;
  }

  void report_query(const doctest::QueryData&) override {}
  void test_run_start() override {}
  void test_run_end(const doctest::TestRunStats&) override {}
  void test_case_reenter(const doctest::TestCaseData&) override {}
  void test_case_exception(const doctest::TestCaseException&) override {}
  void subcase_start(const doctest::SubcaseSignature&) override {}
  void subcase_end() override {}
  void log_assert(const doctest::AssertData&) override {}
  void log_message(const doctest::MessageData&) override {}
  void test_case_skipped(const doctest::TestCaseData&) override {}

 private:
  std::ofstream file_;
  const char* name_ = "";
  std::clock_t begun_ = 0;
};

DOCTEST_REGISTER_LISTENER("reached", 1, Reached);

}  // namespace

int main(int argc, char** argv) {
  if (const char* number = std::getenv("DRYBUS_MUTANT")) {
    mutant::awake = static_cast<unsigned>(std::strtoul(number, nullptr, 10));
  }
  doctest::Context context(argc, argv);
  return context.run();
}
