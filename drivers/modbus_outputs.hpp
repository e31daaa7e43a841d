// An output module that speaks Modbus. On TCP it has a connection that nothing else uses; on a serial line that it shares
// with instruments its exchange goes first, and waits at most for one running request.
//
// One exchange reads the coils back, writes the image and reads the read-backs. What takes something away is written before
// anything is read, and so is the first image of all; where a permit is wanted beside it, that part alone is written first,
// and the rest only after the reading. Coils that lie next to each other are written together, the permits
// first; a refusal of one run of coils does not keep the others from being written. After any failed exchange the
// connection is closed.
//
// Two things keep a permit coil off although it is wanted:
// - The facts (watchdog time, safe and power-on values, simulation mark) are read on every fresh connection and again
//   whenever a permit is to go on, and a permit goes on only if they are what the last report said: nobody gets a permit on
//   facts that he has not been shown.
// - A permit coil that was written on and reads off was lost by the module: it restarted, its watchdog struck, another
//   master wrote. It stays off until the permit is no longer wanted; until then it is reported as written on and read off.
#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "drivers/module_talk.hpp"
#include "drivers/output_module.hpp"

namespace standfast {

class ModbusOutputs final : public OutputModule {
 public:
  ModbusOutputs(std::unique_ptr<ModbusConnection> connection, OutputModuleStatement statement, const Clock& clock);
  // The flaw is the first that came up. A read-back without a discrete input stands in the report only where the coil was
  // found different from what had been written, by somebody else's hand; and of a permit that stood while there was no
  // connection it says what was found, before it is written off.
  [[nodiscard]] OutputReport exchange(const OutputImage& image, Instant deadline) override;

 private:
  using ReadBack = std::array<std::optional<bool>, output_count>;

  void talk_through(ModuleTalk& talk, const OutputImage& wanted, ReadBack& read_back);
  [[nodiscard]] bool goes_off(OutputKind kind, const OutputImage& wanted) const;
  [[nodiscard]] bool takes_away(const OutputImage& wanted) const;
  [[nodiscard]] bool gives_permit(const OutputImage& wanted) const;
  void learn_facts(ModuleTalk& talk);
  void compare_coils(ModuleTalk& talk, ReadBack& found) const;
  void look_at_permits(ModuleTalk& talk, ReadBack& found);
  void find_lost_permits(const ReadBack& found, const OutputImage& wanted);
  [[nodiscard]] bool another_energised(const ReadBack& found) const;
  [[nodiscard]] OutputImage may_be_written(OutputImage wanted) const;
  void write_off(ModuleTalk& talk, const OutputImage& wanted);
  void note_written(OutputKind kind, bool on, bool confirmed);
  void write(ModuleTalk& talk, const OutputImage& image);
  void read_inputs(ModuleTalk& talk, ReadBack& read_back) const;
  [[nodiscard]] OutputReport report(Flaw flaw, const ReadBack& read_back);

  OutputModuleStatement statement_;  // Outputs in the order of their kinds.
  const Clock& clock_;
  std::unique_ptr<ModbusConnection> connection_;
  std::vector<Run> coil_runs_, input_runs_;
  OutputImage stated_;     // Outputs that the rig has; any other is never written.
  OutputImage written_;    // Confirmed by the module.
  OutputImage doubtful_;   // Something else was written and nobody confirmed it: what stands is not known; at first everywhere.
  OutputImage lost_;       // Permits that the module lost by itself.
  bool look_first_{false};         // A permit stood written when the connection was lost.
  bool looked_in_vain_{false};
  bool another_energised_{false};  // In this exchange.
  ModuleFacts facts_;
  std::optional<ModuleFacts> told_facts_;  // In the last report without a flaw.
  bool facts_are_fresh_{false};            // Read on this connection, and told.
};

}  // namespace standfast
