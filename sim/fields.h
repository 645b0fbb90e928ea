// What a plain state consists of, said once. Beside each state stands a list of its fields, and of each what it counts
// in; digest, search key and the like are read off that list. A field that is not in the list does not compile.
#pragma once

#include <array>
#include <boost/pfr/core.hpp>
#include <chrono>
#include <cstddef>
#include <cstdint>
#include <tuple>
#include <type_traits>
#include <utility>

namespace drybus::sim {

/// What a field of a state counts in, to be joined by |. `in_nothing` is a decision, too: say why beside it.
enum Counts : std::uint8_t {
  in_nothing = 0,
  in_digest = 1,  ///< tells one run from another
  in_key = 2,     ///< decides what may come, so that a search takes two states for different
  in_hidden = 4,  ///< nobody can see it, and it stays until something is done
  in_state = in_digest | in_key,
};

template <class State, class Value>
struct Field {
  using value_type = Value;
  Value State::*member;
  std::uint8_t counts;
  std::uint8_t bits;  ///< that it takes where fields are packed; 0: all that it has
};

template <class State, class Value>
constexpr Field<State, Value> field(Value State::*member, int counts, std::uint8_t bits = 0) {
  return {member, static_cast<std::uint8_t>(counts), bits};
}

/// A state that says what it consists of, in `static constexpr auto fields()`, as a tuple of `field`.
template <class State>
concept Described = requires {
  State::fields();
};

template <Described State>
inline constexpr auto fields_of = State::fields();

namespace detail {
template <class State, class Fields, std::size_t... I>
consteval bool complete(const Fields& fields, std::index_sequence<I...>) {
  const bool same_types = (std::is_same_v<typename std::tuple_element_t<I, Fields>::value_type,
                                          boost::pfr::tuple_element_t<I, State>> &&
                           ...);
  if constexpr (std::is_trivially_copyable_v<State>) {
    // Equal types cannot be listed twice and another left out.
    State state{};
    return same_types && ((&(state.*std::get<I>(fields).member) == &boost::pfr::get<I>(state)) && ...);
  }
  return same_types;
}
}  // namespace detail

/// Whether the list names every field of the state, each once and in order.
template <Described State>
consteval bool is_described() {
  using Fields = std::remove_const_t<decltype(fields_of<State>)>;
  constexpr std::size_t count = std::tuple_size_v<Fields>;
  if constexpr (count != boost::pfr::tuple_size_v<State>) {
    return false;
  } else {
    return detail::complete<State>(fields_of<State>, std::make_index_sequence<count>{});
  }
}

/// Calls `visit(field)` for each field that counts in `what`, in order.
template <Described State, int what, class Visit>
constexpr void for_each_field(Visit&& visit) {
  static_assert(is_described<State>(), "a field is missing in fields(): decide what it counts in");
  const auto each = [&]<std::size_t i>(std::integral_constant<std::size_t, i>) {
    if constexpr ((std::get<i>(fields_of<State>).counts & what) != 0) visit(std::get<i>(fields_of<State>));
  };
  [&]<std::size_t... I>(std::index_sequence<I...>) {
    (each(std::integral_constant<std::size_t, I>{}), ...);
  }
  (std::make_index_sequence<std::tuple_size_v<std::remove_const_t<decltype(fields_of<State>)>>>{});
}

/// Whether all that there is of a state counts in `what`, so that its bytes may stand for it.
template <Described State, int what>
consteval bool counts_whole() {
  return []<std::size_t... I>(std::index_sequence<I...>) {
    const auto whole = []<class Value>(const Field<State, Value>& field) {
      bool all = (field.counts & what) != 0;
      if constexpr (Described<Value>) all = all && counts_whole<Value, what>();
      return all;
    };
    return is_described<State>() && (whole(std::get<I>(fields_of<State>)) && ...);
  }
  (std::make_index_sequence<std::tuple_size_v<std::remove_const_t<decltype(fields_of<State>)>>>{});
}

/// Whether these are just the fields that count in `what`: for the places that treat each in a way of its own.
template <Described State, int what, class... Values>
consteval bool counts_just(Values State::*... members) {
  std::size_t found = 0;
  std::size_t wanted = 0;
  const auto is = []<class Value, class Other>(const Field<State, Value>& field, Other State::*member) {
    if constexpr (std::is_same_v<Value, Other>) return field.member == member;
    return false;
  };
  for_each_field<State, what>([&](const auto& field) {
    ++wanted;
    if ((is(field, members) || ...)) ++found;
  });
  return found == wanted && wanted == sizeof...(members);
}

/// A field as a whole number. Instants and durations are whole nanoseconds.
template <class Value>
constexpr std::uint64_t as_number(const Value& value) {
  if constexpr (std::is_enum_v<Value>) {
    return as_number(static_cast<std::underlying_type_t<Value>>(value));
  } else if constexpr (std::is_integral_v<Value>) {
    return static_cast<std::uint64_t>(static_cast<std::make_unsigned_t<Value>>(value));
  } else if constexpr (requires { value.time_since_epoch(); }) {
    return static_cast<std::uint64_t>(value.time_since_epoch().count());
  } else {
    return static_cast<std::uint64_t>(value.count());
  }
}

/// Puts numbers side by side into 64-bit words, the lowest bits first; none lies in two words.
template <class Take>
class Packer {
 public:
  explicit Packer(Take take) : take_(std::move(take)) {}
  void put(std::uint64_t number, unsigned bits) {
    if (used_ + bits > 64) flush();
    word_ |= number << used_;
    used_ += bits;
    if (used_ == 64) flush();
  }
  void flush() {
    if (used_ != 0) take_(word_);
    word_ = 0;
    used_ = 0;
  }

 private:
  Take take_;
  std::uint64_t word_ = 0;
  unsigned used_ = 0;
};

/// Puts a state's fields that count in `what` into `packer`, in order; states and arrays within it likewise.
template <int what, Described State, class Take>
void pack(Packer<Take>& packer, const State& state) {
  for_each_field<State, what>([&]<class Value>(const Field<State, Value>& field) {
    const Value& value = state.*field.member;
    if constexpr (Described<Value>) {
      pack<what>(packer, value);
    } else if constexpr (requires { std::tuple_size<Value>::value; }) {
      for (const auto& each : value) packer.put(as_number(each), sizeof(each) * 8);
    } else {
      packer.put(as_number(value), field.bits != 0 ? field.bits : sizeof(Value) * 8);
    }
  });
}

/// The words of a state, one after the other, to `take`.
template <int what, Described State, class Take>
void pack_words(const State& state, Take take) {
  Packer<Take> packer{std::move(take)};
  pack<what>(packer, state);
  packer.flush();
}

}  // namespace drybus::sim
