// Where the engine has to look: the two containers behind it, held against what the standard library does with everything.
#include "daemon/core/attention.hpp"

#include <catch2/catch.hpp>
#include <rapidcheck.h>

#include <algorithm>
#include <set>

using namespace standfast;

namespace {

std::size_t any_place(std::size_t places) { return *rc::gen::inRange<std::size_t>(0, places); }

std::vector<std::size_t> walked(const PlaceSet& set) {
  std::vector<std::size_t> places;
  set.for_each([&](std::size_t place) { places.push_back(place); });
  return places;
}

}  // namespace

TEST_CASE("a set of places is walked in ascending order, and holds what was put and not taken away") {
  CHECK(rc::check([] {
    const std::size_t places = *rc::gen::inRange<std::size_t>(1, 300);
    PlaceSet set{places}, other{places};
    std::set<std::size_t> expected, both;
    for (int i = 0; i < 100; ++i) {
      const std::size_t place = any_place(places), beside = any_place(places);
      const bool in = *rc::gen::arbitrary<bool>();
      set.put(place, in);
      if (in) expected.insert(place);
      else expected.erase(place);
      other.put(beside);
      both.insert(beside);
    }
    RC_ASSERT(walked(set) == std::vector<std::size_t>(expected.begin(), expected.end()));
    for (std::size_t place = 0; place < places; ++place) RC_ASSERT(set[place] == expected.contains(place));
    const std::size_t sought = any_place(places);
    RC_ASSERT(set.any_of([&](std::size_t place) { return place == sought; }) == expected.contains(sought));
    both.insert(expected.begin(), expected.end());
    std::vector<std::size_t> in_either;
    for_each_in_either(set, other, [&](std::size_t place) { in_either.push_back(place); });
    RC_ASSERT(in_either == std::vector<std::size_t>(both.begin(), both.end()));
    set.begin_anew(places);
    RC_ASSERT(walked(set).empty());
  }));
}

TEST_CASE("the earliest of many instants is the least of those that stand, and none where none does") {
  CHECK(rc::check([] {
    const std::size_t places = *rc::gen::inRange<std::size_t>(1, 300);
    Earliest earliest;
    RC_ASSERT(!earliest.at());
    earliest.begin_anew(places);
    std::vector<std::optional<Instant>> all(places);
    for (int i = 0; i < 200; ++i) {
      const std::size_t place = any_place(places);
      all[place] = *rc::gen::arbitrary<bool>() ? std::optional{Instant{*rc::gen::inRange<std::int64_t>(0, 1000)}} : std::nullopt;
      earliest.set(place, all[place]);
      std::optional<Instant> least;
      for (const auto& at : all)
        if (at && (!least || *at < *least)) least = at;
      RC_ASSERT(earliest.at() == least);
    }
  }));
}
