// A line read word by word; a comma is a word of its own.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/unit_text.hpp"

namespace standfast::rig {

// A command that cannot be obeyed, as a sentence; never leaves obey_command.
struct Refusal { std::string why; };

class WordReader {
 public:
  explicit WordReader(std::string_view line);

  bool ended() const { return at_ == words_.size(); }
  std::string peek() const { return ended() ? std::string{} : words_[at_]; }
  std::string next(std::string_view expected);  // Throws Refusal at the end of the line.
  bool take(std::string_view word);             // Steps over it if it comes next.
  void must(std::string_view word);
  void must_end() const;

  // A number and its unit, a leading plus allowed; SI.
  double amount(Dimension dimension);
  Duration duration();

 private:
  std::vector<std::string> words_;
  std::size_t at_{0};
};

}  // namespace standfast::rig
