#include "tools/script/site_wishes.h"

#include <algorithm>

#include "model/words/words.h"
#include "tools/base/unusable.h"
#include "tools/script/complaints.h"
#include "tools/script/fields.h"
#include "tools/script/tree.h"

namespace drybus::tools {

using model::msg_as;

namespace {

class WishReader {
 public:
  explicit WishReader(const LoadedSite& loaded) : site_(loaded.site), wishes_(model::no_wishes(loaded.site)) {
    for (const SourceFile& source : loaded.sources) complaints_.add_source(source);
    for (const model::PlateSpec& plate : site_.plates) {
      if (!plate.neighbour) own_plates_.push_back(plate.name);
    }
  }

  model::SiteWishes read() {
    const auto tree = parse_tree(0, complaints_);
    if (tree == nullptr) return wishes_;
    const Node& root = tree->root();
    const Node* within = root.find("site");
    const Node& site = within != nullptr && within->kind == Node::Kind::map ? *within : root;
    wishes_.open_bus = within == nullptr && site.find("bus") == nullptr;
    if (within == nullptr) read_plates(site.find("plates"));
    read_modules(site.find("modules"));
    if (complaints_.any()) throw Unusable{to_text(complaints_.sorted())};
    return wishes_;
  }

 private:
  void read_plates(const Node* plates) {
    if (plates == nullptr) return;
    for (const Node::Entry& entry : plates->entries) {
      const auto device = site_.find_device(entry.key->text);
      if (!device || !site_.is_plate(*device) || site_.is_neighbour(*device)) continue;
      wishes_.open_plates[*device] = entry.value->find("switches") == nullptr;
    }
  }

  void read_modules(const Node* modules) {
    if (modules == nullptr) return;
    for (const Node::Entry& entry : modules->entries) {
      const auto device = site_.find_device(entry.key->text);
      if (!device || site_.is_plate(*device)) continue;
      const std::size_t index = site_.module_index(*device);
      if (const Node* plate = entry.value->find("plate")) read_plate(*plate, wishes_.plates[index]);
    }
  }

  void read_plate(const Node& node, std::vector<model::DeviceId>& into) {
    if (node.kind == Node::Kind::list) {
      for (const Node* item : node.items) add_plate(*item, into);
    } else {
      add_plate(node, into);
    }
  }

  void add_plate(const Node& node, std::vector<model::DeviceId>& into) {
    const auto name = read_text(complaints_, node);
    if (!name) return;
    const bool own = std::find(own_plates_.begin(), own_plates_.end(), *name) != own_plates_.end();
    if (!own)
      return complain_of_unknown(complaints_, node.place, msg_as("what", "plate of ours"), *name,
                                 own_plates_);
    const model::DeviceId plate = *site_.find_device(*name);
    if (std::find(into.begin(), into.end(), plate) == into.end()) into.push_back(plate);
  }

  const model::Site& site_;
  model::SiteWishes wishes_;
  Complaints complaints_;
  std::vector<std::string> own_plates_;
};

}  // namespace

model::SiteWishes site_wishes(const LoadedSite& loaded) {
  return WishReader{loaded}.read();
}

}  // namespace drybus::tools
