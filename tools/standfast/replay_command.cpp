// replay: does the record explain itself?
#include <boost/json.hpp>
#include <iostream>

#include "config/time_text.hpp"
#include "daemon/service/replay.hpp"
#include "drivers/boot_clock.hpp"
#include "tools/standfast/commands.hpp"
#include "tools/standfast/deed_words.hpp"
#include "tools/standfast/record_lines.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {
namespace {

void tell_json(const Replayed& replayed, bool simulated) {
  boost::json::object answer{{"schema", "standfast-replay-1"}, {"time", wall_time_text(wall_time_now())},
                             {"events", replayed.events}, {"decisions", replayed.decisions},
                             {"from_row", replayed.from_seq}, {"to_row", replayed.to_seq},
                             {"resumed", replayed.resumed}, {"simulated", simulated}, {"same", !replayed.first_difference}};
  if (replayed.first_difference)
    answer["difference"] = boost::json::object{{"row", replayed.first_difference->seq},
                                               {"recorded", replayed.first_difference->recorded},
                                               {"replayed", replayed.first_difference->replayed}};
  std::cout << boost::json::serialize(answer) << '\n';
}

void tell(const Replayed& replayed) {
  std::cout << replayed.events << " events decided again, " << replayed.decisions << " decisions, rows " << replayed.from_seq << " to "
            << replayed.to_seq << '\n';
  if (replayed.resumed > 0) std::cout << "rows were lost " << replayed.resumed << " times; the next snapshot stood in each time\n";
  if (!replayed.first_difference) {
    std::cout << "the same decisions, byte for byte; of the seals this says nothing: tests/record/verify_seals.py recomputes them\n";
    return;
  }
  const ReplayDifference& difference = *replayed.first_difference;
  std::cout << "FIRST DIFFERENCE at row " << difference.seq << "\n  recorded: "
            << (difference.recorded.empty() ? "nothing" : difference.recorded) << "\n  replayed: "
            << (difference.replayed.empty() ? "nothing" : difference.replayed) << '\n';
}

}  // namespace

int replay(const Arguments& arguments) {
  auto reader = open_record(arguments.operand(0));
  const auto replayed = standfast::replay(reader, arguments.has("newest-snapshot") ? ReplayFrom::newest_snapshot : ReplayFrom::start);
  if (!replayed) throw Trouble{bad_input, replayed.error()};
  const bool simulated = is_simulated(reader);
  if (arguments.has("json")) {
    tell_json(*replayed, simulated);
  } else {
    std::cout << simulated_heading(simulated);
    tell(*replayed);
  }
  return replayed->first_difference ? findings : done;
}

}  // namespace standfast::client
