// Enumerations that know how many they are: defined by BOOST_DEFINE_FIXED_ENUM_CLASS, so that no number is kept by hand,
// and tables by enumerator that do not compile with an entry too few.
#pragma once

#include <array>
#include <boost/describe/enum.hpp>
#include <boost/describe/enumerators.hpp>
#include <boost/mp11/list.hpp>
#include <cstddef>
#include <optional>
#include <utility>

namespace drybus::sim {

/// How many enumerators a described enumeration has. They count from 0, each one more than the one before.
template <class Enum>
inline constexpr std::size_t count_of =
    boost::mp11::mp_size<boost::describe::describe_enumerators<Enum>>::value;

/// One value for each enumerator.
template <class Enum, class Value>
class ByEnum {
 public:
  constexpr ByEnum() = default;
  /// In the order of the enumerators; all of them.
  template <class... Values>
  requires(sizeof...(Values) == count_of<Enum>) constexpr explicit(false) ByEnum(Values... values)
      : values_{std::move(values)...} {}

  constexpr Value& operator[](Enum each) { return values_[static_cast<std::size_t>(each)]; }
  constexpr const Value& operator[](Enum each) const { return values_[static_cast<std::size_t>(each)]; }

  /// The first enumerator that has this value.
  template <class Other>
  [[nodiscard]] constexpr std::optional<Enum> find(const Other& value) const {
    for (std::size_t i = 0; i < values_.size(); ++i) {
      if (values_[i] == value) return static_cast<Enum>(i);
    }
    return std::nullopt;
  }

  [[nodiscard]] constexpr auto begin() { return values_.begin(); }
  [[nodiscard]] constexpr auto end() { return values_.end(); }
  [[nodiscard]] constexpr auto begin() const { return values_.begin(); }
  [[nodiscard]] constexpr auto end() const { return values_.end(); }
  [[nodiscard]] static constexpr std::size_t size() { return count_of<Enum>; }
  friend bool operator==(const ByEnum&, const ByEnum&) = default;

 private:
  std::array<Value, count_of<Enum>> values_{};
};

/// All enumerators, in order.
template <class Enum>
constexpr std::array<Enum, count_of<Enum>> all_of() {
  std::array<Enum, count_of<Enum>> all{};
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = static_cast<Enum>(i);
  return all;
}

}  // namespace drybus::sim
