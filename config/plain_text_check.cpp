#include "config/plain_text_check.hpp"

#include <algorithm>
#include <set>
#include <string>

#include "config/source_text.hpp"
#include "config/yaml_reader.hpp"

namespace standfast {

namespace {

struct Trouble {
  std::string_view code, message, expected;
};

// Directions of writing and other characters that are there but not seen could make a line read as what it is not.
bool is_hidden(std::uint32_t c) {
  return c == 0xAD || (c >= 0x200B && c <= 0x200F) || (c >= 0x2028 && c <= 0x202E) || (c >= 0x2060 && c <= 0x206F) ||
         c == 0x85 || c == 0xFEFF || (c >= 0xE0000 && c <= 0xE007F);
}

Trouble trouble_of(Utf8Character c, std::size_t offset) {
  if (c.bytes == 0) return {"E-encoding", "these bytes are not UTF-8", "a text file saved as UTF-8"};
  if (c.code_point == 0xFEFF && offset == 0)
    return {"E-encoding", "the file begins with a byte order mark", "a text file saved as UTF-8 without a mark"};
  if (c.code_point == '\r')
    return {"E-line-end", "a carriage return", "lines that end with a line feed alone, as editors on Linux write them"};
  if (c.code_point == '\t') return {"E-tab", "a tab", "spaces"};
  const bool control = c.code_point < 0x20 || (c.code_point >= 0x7F && c.code_point < 0xA0);
  if ((control && c.code_point != '\n') || is_hidden(c.code_point) || c.code_point == 0xFFFE || c.code_point == 0xFFFF)
    return {"E-control-character", "a control character or one that cannot be seen", "printable text"};
  return {};
}

class PlainTextCheck {
 public:
  PlainTextCheck(std::string_view bytes, Complaints& complaints)
      : bytes_{bytes}, source_{bytes}, complaints_{complaints} {}

  bool run() {
    for (std::size_t i = 0; i < bytes_.size();) {
      const Utf8Character c = utf8_at(bytes_, i);
      tell_once(trouble_of(c, i), i);
      if (bytes_[i] == '\n') end_of_line(i);
      i += static_cast<std::size_t>(std::max(1, c.bytes));
    }
    if (!bytes_.empty() && bytes_.back() != '\n') {
      end_of_line(bytes_.size());
      tell_once({"E-cut-short", "the last line has no line end: the file may be cut short", "a line end"},
                bytes_.size());
    }
    return told_.empty();
  }

 private:
  void end_of_line(std::size_t end) {
    if (end - line_start_ > most_line_bytes) {
      tell_once(
          {"E-line-long", "a line of more than 1000 bytes", "shorter lines: a list or mapping may go over several"},
          line_start_);
    }
    if (end > line_start_ && bytes_[line_start_] == '%') {
      tell_once({"E-directive", "a line that begins with '%' is a YAML directive", "no directive"}, line_start_);
    }
    line_start_ = end + 1;
  }

  void tell_once(Trouble trouble, std::size_t offset) {
    if (trouble.code.empty() || !told_.insert(trouble.code).second) return;
    complaints_.add(trouble.code, {source_.place_of(offset), 1}, std::string{trouble.message},
                    {{}, std::string{trouble.expected}, {}});
  }

  std::string_view bytes_;
  SourceText source_;
  Complaints& complaints_;
  std::set<std::string_view> told_;
  std::size_t line_start_{0};
};

}  // namespace

bool check_plain_text(std::string_view bytes, Complaints& complaints) {
  if (bytes.size() > most_yaml_bytes) {
    complaints.add("E-file-size", {{1, 1}, 1}, "the file has " + std::to_string(bytes.size()) + " bytes",
                   {{}, "at most " + std::to_string(most_yaml_bytes) + " bytes", {}});
    return false;
  }
  return PlainTextCheck{bytes, complaints}.run();
}

}  // namespace standfast
