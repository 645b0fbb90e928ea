// Many benches in one program: the class's own, at which all work together, and one for each pupil. Who is there sits at one of
// them and looks at one of them; letters come from the bench that somebody looks at. Knows no socket.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "tools/panel/panel.h"
#include "tools/panel/results.h"

namespace drybus::tools {

/// The class's own bench is 0; a pupil's has the pupil's number.
using BenchId = ViewerId;
inline constexpr BenchId class_bench = 0;

/// So many pupils have a bench of their own at once.
inline constexpr std::size_t most_own_benches = 100;
/// Nothing done for so long: whoever leads is told that somebody may be stuck.
inline constexpr RealTime stuck_after = std::chrono::seconds{90};

/// Something that can be opened for the class.
struct Offer {
  std::string path;
  std::string title;
  std::string about;          ///< a sentence
  std::size_t questions = 0;  ///< of a lesson
  std::size_t devices = 0;
  std::string trouble;  ///< why it cannot be opened
};

struct Shelf {
  std::string name;  ///< as the folder was named
  std::vector<Offer> offers;
  std::function<Task(const Offer&)> load;  ///< throws Unusable
};

/// What of a workshop outlives its program, beside the benches.
struct KeptWorkshop {
  std::string opened;  ///< path of what is open; empty: the shelf is shown
  bool each = false;
  std::vector<Result> results;
};

struct WorkshopOptions {
  bool led = false;   ///< trainers, pupils and onlookers have rights of their own; else all are alike
  bool each = false;  ///< a bench for each pupil from the start; REQUIRES: led
  Shelf shelf = {};
  bool choosing = false;  ///< begins with the shelf
  Log log = {};
};

class Workshop {
 public:
  Workshop(Task task, WorkshopOptions options);

  /// Goes on as it was kept. REQUIRES: nobody has come yet. Throws Unusable as resume(Bench) does.
  void resume(const KeptWorkshop& kept, const std::optional<KeptBench>& of_class,
              const std::map<BenchId, KeptBench>& own, RealTime real);

  /// Whether there is a seat for one more with that role.
  [[nodiscard]] bool has_room_for(const Newcomer& who) const;
  /// Somebody comes. REQUIRES: has_room_for.
  ViewerId join(RealTime real, const Newcomer& who = {});
  void leave(ViewerId id, RealTime real);

  /// A text from one of them. Answers whether it was understood, done or not; never throws.
  bool receive(ViewerId id, std::string_view text, RealTime real);

  void at_real(RealTime real);
  /// When at_real is to be called next at the latest.
  [[nodiscard]] std::optional<RealTime> next_due() const;
  /// The fastest clock that goes.
  [[nodiscard]] double speed() const;

  /// For somebody who has missed some news.
  [[nodiscard]] std::shared_ptr<const std::string> whole_state(ViewerId id, RealTime real) const;
  /// Takes what is to be sent, in this order; each to one person.
  [[nodiscard]] std::vector<Letter> take_letters();
  /// Tells all who lead.
  void tell_trainers(const std::string& text);

  [[nodiscard]] KeptWorkshop kept() const;
  /// How each pupil fared, also with what was open before; those who have answered nothing are left out.
  [[nodiscard]] std::vector<Result> results() const;

  [[nodiscard]] const Panel& bench(BenchId id) const;
  /// All benches by number, the class's first.
  [[nodiscard]] std::vector<BenchId> benches() const;
  /// Differs when `kept` does, or when other benches are there.
  [[nodiscard]] std::uint64_t changes() const { return changes_; }
  /// Grows when all benches are new ones.
  [[nodiscard]] std::uint64_t openings() const { return openings_; }

 private:
  struct Person {
    BenchId home = class_bench;
    BenchId looks_at = class_bench;
  };

  [[nodiscard]] Panel& panel(BenchId id);
  [[nodiscard]] std::unique_ptr<Panel> make(BenchId id) const;
  [[nodiscard]] std::optional<ViewerId> whose_key(const Newcomer& who) const;
  [[nodiscard]] std::vector<BenchId> untouched() const;
  [[nodiscard]] bool leads(ViewerId id) const;
  [[nodiscard]] const Room::Viewer* viewer(ViewerId id) const;

  std::optional<boost::json::object> carry_out(ViewerId id, const class Request& request, RealTime real);
  void open(const class Request& request, RealTime real);
  void give_each(bool each, RealTime real);
  void visit(ViewerId id, BenchId bench, RealTime real);
  void everybody_home(RealTime real);
  void put_on_wall(BenchId bench, RealTime real);
  void show_shelf(bool shown, RealTime real);
  void move_home(ViewerId id, BenchId to, RealTime real);
  BenchId bench_asked_for(const class Request& request) const;

  void tell(ViewerId id, const boost::json::object& message);
  void tell_where(ViewerId id);
  void tell_shelf(ViewerId id);
  void tell_overview(RealTime real, bool at_once);
  [[nodiscard]] boost::json::object overview_json() const;
  [[nodiscard]] boost::json::object bench_json(BenchId id) const;
  void forget_who_left();

  Task task_;
  WorkshopOptions options_;
  std::string opened_;
  bool choosing_ = false;
  bool each_ = false;
  BenchId wall_ = class_bench;
  std::unique_ptr<Panel> class_;
  std::map<BenchId, std::unique_ptr<Panel>> own_;
  std::map<ViewerId, Person> people_;
  std::vector<Result> past_;
  std::vector<Letter> letters_;
  ViewerId next_id_ = 1;
  std::uint64_t changes_ = 0;
  std::uint64_t openings_ = 0;
  std::string overview_told_;
  RealTime overview_at_{};
  RealTime now_{};
};

}  // namespace drybus::tools
