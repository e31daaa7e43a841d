// Quantities as a table of a book prints them: force("930 kN"), length("28 ft").
#pragma once

#include <catch2/catch.hpp>
#include <string>

#include "config/unit_text.hpp"

namespace standfast::test {

inline double si_of(const std::string& text, Base base) {
  const auto amount = parse_amount(text, {base, Per::none});
  INFO(text);
  REQUIRE(amount);
  return amount->si;
}
inline Force force(const std::string& text) { return Force::from_si(si_of(text, Base::force)); }
inline Length length(const std::string& text) { return Length::from_si(si_of(text, Base::length)); }
inline Pressure pressure(const std::string& text) { return Pressure::from_si(si_of(text, Base::pressure)); }
inline Area area(const std::string& text) { return Area::from_si(si_of(text, Base::area)); }
inline Stiffness stiffness(const std::string& text) { return Stiffness::from_si(si_of(text, Base::stiffness)); }

}  // namespace standfast::test
