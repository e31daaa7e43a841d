// Prints every name that the record, the files and `--json` carry, and the two transition tables, as DEVELOPERS.md shows them:
// straight from the tables that the daemon runs on.
#include <cstdio>
#include <string>
#include <string_view>

#include "config/finding_codes.hpp"
#include "config/quantity_kinds.hpp"
#include "daemon/core/alarm_table.hpp"
#include "daemon/core/cause.hpp"
#include "daemon/core/doubt.hpp"
#include "daemon/core/stage_table.hpp"
#include "daemon/record/names.hpp"

namespace {

using namespace standfast;

template <class Enum>
std::string word(Enum value) {
  std::string shown{record::Names<Enum>::list[static_cast<std::size_t>(value)]};
  for (char& c : shown)
    if (c == '_') c = ' ';
  return shown;
}

// A bar would end the cell.
std::string cell(std::string_view text) {
  std::string shown;
  for (const char c : text) shown += c == '|' ? std::string{"\\|"} : std::string{c};
  return shown;
}

void quantities() {
  std::puts("### Quantities\n\n| as written after `of:` | dimension | `since:` |\n|---|---|---|");
  for (const QuantityEntry& entry : quantity_entries)
    std::printf("| `%s` | %s | %s |\n", cell(entry.example).c_str(),
                entry.base ? word(*entry.base).c_str() : "the channel's own", entry.takes_since ? "yes" : "");
}

// Of a value: its quality, and whether a number with this cause can trip a limit or clear one.
void causes() {
  std::puts("\n### Causes\n\n| code | said to a person | the value is | trips | clears |\n|---|---|---|---|---|");
  for (int i = 0; i < cause_count; ++i) {
    const Cause cause = static_cast<Cause>(i);
    const CauseEntry& entry = entry_of(cause);
    std::printf("| `%s` | %s |", cell(entry.code).c_str(), cell(entry.text).c_str());
    if (i >= doubt_count) {
      std::puts(" | | |");
      continue;
    }
    const Doubt& doubt = doubt_of(cause);
    std::printf(" %s | %s | %s |\n", word(doubt.quality).c_str(), doubt.trips ? "yes" : "no", doubt.clears ? "yes" : "no");
  }
}

void findings() {
  std::puts("\n### Findings\n\n| code | what it means | for example | schema too |\n|---|---|---|---|");
  for (const CodeEntry& entry : finding_codes())
    std::printf("| `%s` | %s | `%s` | %s |\n", cell(entry.code).c_str(), cell(entry.meaning).c_str(),
                cell(entry.example).c_str(), entry.refused_by == RefusedBy::schema_as_well ? "yes" : "");
}

// A cell in which the state stands is left empty.
template <class State, std::size_t States, std::size_t Happenings>
void transitions(const char* title, const std::array<std::string_view, Happenings>& happenings,
                 const std::array<std::array<State, Happenings>, States>& table) {
  std::printf("\n### %s\n\n| state |", title);
  for (const std::string_view happening : happenings) std::printf(" %s |", std::string{happening}.c_str());
  std::printf("\n|---|");
  for (std::size_t i = 0; i < Happenings; ++i) std::printf("---|");
  std::puts("");
  for (std::size_t from = 0; from < States; ++from) {
    std::printf("| **%s** |", word(static_cast<State>(from)).c_str());
    for (const State to : table[from]) std::printf(" %s |", static_cast<std::size_t>(to) == from ? "" : word(to).c_str());
    std::puts("");
  }
}

constexpr std::array<std::string_view, alarm_happening_count> alarm_happenings{
    "condition", "gone", "gone, latching", "acknowledged", "reset", "repeated", "withdrawn", "returned"};
constexpr std::array<std::string_view, stage_happening_count> stage_happenings{
    "entered", "reached", "left", "met", "lost", "proposed", "approved", "next step", "last step done", "abandoned", "skipped"};

}  // namespace

int main() {
  quantities();
  causes();
  findings();
  transitions<AlarmState>("The life of an alarm", alarm_happenings, alarm_table);
  transitions<StageState>("The life of a stage", stage_happenings, stage_table);
}
