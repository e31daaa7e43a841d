// Collects the findings of one file while it is read, so that all of them are told at once.
#pragma once

#include <string>
#include <string_view>

#include "config/finding.hpp"
#include "config/rig.hpp"

namespace standfast {

struct Spot {  // What the caret points at.
  Place place;
  int length{1};  // In characters, on the line of `place`.
};

struct Advice {  // What helps the reader beside the message; each may be empty.
  std::string found, expected, nearest;
};

class Complaints {
 public:
  explicit Complaints(std::string_view file_name) : file_{file_name} {}

  // `code` stands in the table of finding_codes.hpp, which also decides between error and warning. After `most` findings
  // the rest is only counted: a hostile file shall not cost memory.
  void add(std::string_view code, Spot spot, std::string message, Advice advice = {});

  [[nodiscard]] int errors() const { return errors_; }

  // In file order, each once; behind `most` findings one more that says how many are not listed.
  [[nodiscard]] Findings take();

  static constexpr int most = 200;

 private:
  std::string file_;
  Findings found_;
  int errors_{0};
  int not_listed_{0};
};

}  // namespace standfast
