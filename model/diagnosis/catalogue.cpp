#include "model/diagnosis/catalogue.h"

namespace drybus::model {

namespace {

enum class Kind : bool { slip, fault };
enum class Stay : bool { passes, lasts };
enum class Mender : bool { anybody, electrician };

/// What is known of a cause, whatever site it is found on.
struct Trait {
  std::string_view name;
  Kind kind = Kind::slip;
  Stay stay = Stay::passes;
  Mender mender = Mender::anybody;

  friend constexpr bool operator==(const Trait& trait, std::string_view name) { return trait.name == name; }
};

constexpr sim::ByEnum<Mishap, Trait> traits = {
    Trait{"forgot", Kind::slip, Stay::passes, Mender::anybody},
    Trait{"repeated", Kind::slip, Stay::passes, Mender::anybody},
    Trait{"wrong-button", Kind::slip, Stay::passes, Mender::anybody},
    Trait{"let-go-early", Kind::slip, Stay::passes, Mender::anybody},
    Trait{"wrong-module", Kind::slip, Stay::passes, Mender::anybody},
    Trait{"second-module", Kind::slip, Stay::passes, Mender::anybody},
    Trait{"took-longer", Kind::slip, Stay::passes, Mender::anybody},
    Trait{"took-shorter", Kind::slip, Stay::passes, Mender::anybody},
    Trait{"switch-wrong", Kind::slip, Stay::lasts, Mender::anybody},
    Trait{"bounced", Kind::slip, Stay::passes, Mender::anybody},
    Trait{"exchanged", Kind::slip, Stay::passes, Mender::anybody},
    Trait{"other-address", Kind::fault, Stay::lasts, Mender::anybody},
    Trait{"other-generation", Kind::fault, Stay::lasts, Mender::anybody},
    Trait{"open-link", Kind::fault, Stay::lasts, Mender::electrician},
    Trait{"shorted-link", Kind::fault, Stay::lasts, Mender::electrician},
    Trait{"noisy-link", Kind::fault, Stay::lasts, Mender::electrician},
    Trait{"dead-device", Kind::fault, Stay::lasts, Mender::electrician},
    Trait{"power-cut", Kind::fault, Stay::passes, Mender::anybody},
    Trait{"write-lost", Kind::fault, Stay::passes, Mender::anybody},
    Trait{"stuck-button", Kind::fault, Stay::lasts, Mender::electrician},
    Trait{"telegram-lost", Kind::fault, Stay::passes, Mender::anybody},
    Trait{"neighbour", Kind::fault, Stay::passes, Mender::anybody},
    Trait{"was-in-setup", Kind::fault, Stay::lasts, Mender::anybody},
    Trait{"other-hands", Kind::fault, Stay::passes, Mender::anybody},
    Trait{"dead-load", Kind::fault, Stay::lasts, Mender::electrician},
    Trait{"other-power-up", Kind::fault, Stay::lasts, Mender::anybody}};

}  // namespace

std::string_view to_string(Mishap cause) {
  return traits[cause].name;
}

std::optional<Mishap> parse_mishap(std::string_view text) {
  return traits.find(text);
}

bool is_fault(Mishap cause) {
  return traits[cause].kind == Kind::fault;
}

bool lasts(Mishap cause) {
  return traits[cause].stay == Stay::lasts;
}

bool wants_an_electrician(Mishap cause) {
  return traits[cause].mender == Mender::electrician;
}

}  // namespace drybus::model
