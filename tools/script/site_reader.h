// A site, off its mapping in a scenario or in a file of its own: places, plates, modules, wiring.
#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <vector>

#include "model/family/radio.h"
#include "model/site/site.h"
#include "tools/script/fact_value.h"
#include "tools/script/fields.h"
#include "tools/script/reader.h"

namespace drybus::tools {

/// How fast people walk, in m/s (Andrews et al.; see the references).
inline constexpr double walking_speed_m_per_s = 1.32;
/// From one place to another of which nothing says how far it is.
inline constexpr sim::Duration unknown_walk = std::chrono::seconds{30};

inline constexpr std::size_t max_places = 300;
inline constexpr std::size_t max_network_nodes = 60'000;
inline constexpr std::size_t max_radio_links = 200'000;

/// A family that a file names; nothing in `family` when it could not be read.
struct FamilyUse {
  std::string ref;
  std::filesystem::path file;
  std::optional<model::Family> family;
};
/// Finds and reads the family that a node names, or complains.
using FamilyLoader = std::function<FamilyUse(const Node&)>;
/// What a report's site leaves open.
struct ToldSite {
  std::vector<model::DeviceId>
      unread;  ///< plates whose switches nobody knows; they have what is intended there
  std::vector<model::DeviceId> told_short;  ///< modules of which nothing is said but where they belong
};

struct ReadSite {
  model::Site site;
  std::vector<FamilySource> other_families;       ///< in the order of Site::other_families
  std::vector<std::optional<model::Spot>> spots;  ///< of each place, where its file says
};

/// Reads what belongs to a site off a scenario's mapping or a file. Everything wrong is complained of, and
/// what is right comes back, so that more can be checked against it. Without a family, what depends on one is
/// not checked. With `unplanned`, plates need no switches yet (site_wishes.h says which have none): both numbers are 0.
/// `told`: it is a report's, where plates and modules may be told in a word, and switches be unknown.
ReadSite site_from(const Fields& fields, const model::Family* family, const FamilyLoader& load_family,
                   Complaints& complaints, bool unplanned = false, ToldSite* told = nullptr);

/// How long people walk: as given; else as far as it is between spots, or by way of other places; else
/// `unknown_walk`.
std::vector<sim::Duration> walks_between(std::size_t places, const std::vector<model::WalkLeg>& given,
                                         const std::vector<std::optional<model::Spot>>& spots);

/// The media of a site's bus, and its junctions. REQUIRES: the site's plates and modules are complete.
std::vector<sim::MediumSpec> bus_from(const Fields& fields, model::Site& site,
                                      const std::vector<std::optional<model::Spot>>& spots,
                                      const model::Family* family, Complaints& complaints);

/// Whether coordinates put two devices beyond each other's reach.
bool out_of_reach(const model::Site& site, const std::vector<std::optional<model::Spot>>& spots,
                  model::DeviceId a, model::DeviceId b);

/// A site or zone number that the family's switches can show.
void read_switch_number(Complaints& complaints, const Node& node, const model::SwitchBank* bank,
                        std::uint8_t& into);

/// "23/4/1" as something that some plate could assign. Complains otherwise.
std::optional<model::Address> address_from(const Node& node, const AddressBounds& bounds,
                                           Complaints& complaints);

}  // namespace drybus::tools
