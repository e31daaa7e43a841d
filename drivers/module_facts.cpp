#include "drivers/module_facts.hpp"

#include <algorithm>

namespace standfast {

namespace {

Words registers(ModuleTalk& talk, Run run) {
  const auto frame = talk.read_if_there(Table::holding_register, run);
  return frame.empty() ? Words{} : words_in(frame);
}

std::optional<Duration> watchdog_time(ModuleTalk& talk, const OutputModuleStatement& statement) {
  if (!statement.watchdog_register) return std::nullopt;
  const Words words = registers(talk, {*statement.watchdog_register, 1});
  if (words.empty()) return std::nullopt;
  return statement.watchdog_unit * words.front();
}

bool stand_as_stated(ModuleTalk& talk, const std::vector<ModuleRegister>& stated) {
  std::vector<int> addresses;
  for (const ModuleRegister& one : stated) addresses.push_back(one.address);
  for (const Run run : runs_of(addresses)) {
    const Words words = registers(talk, run);
    if (words.empty()) return false;
    for (const ModuleRegister& one : stated)
      if (run.holds(one.address) && words[static_cast<std::size_t>(one.address - run.start)] != one.wanted) return false;
  }
  return !stated.empty();
}

bool bears_simulation_mark(ModuleTalk& talk) {
  return std::ranges::equal(registers(talk, {simulation_mark_register, simulation_mark.size()}), simulation_mark);
}

}  // namespace

std::optional<ModuleFacts> read_module_facts(ModuleTalk& talk, const OutputModuleStatement& statement) {
  const ModuleFacts facts{.watchdog = watchdog_time(talk, statement),
                          .safe_values_as_stated = stand_as_stated(talk, statement.safe_values),
                          .power_on_values_as_stated = stand_as_stated(talk, statement.power_on_values),
                          .simulated = bears_simulation_mark(talk)};
  if (talk.first_flaw() != Flaw::none) return std::nullopt;
  return facts;
}

}  // namespace standfast
