// Prints what the engine makes of rehearsals, to the bit: for each, the number of events, of decisions, a digest of every
// decision's full text with its instant and of all that stands after each event, and one of the engine's whole state after
// every tenth event. Built by several compilers at several levels, all must print the same.
#include <cstdint>
#include <cstdio>
#include <string>

#include "daemon/core/engine.hpp"
#include "tests/support/effects_text.hpp"
#include "tools/rehearse/run.hpp"

namespace {

// FNV-1a, 64 bits: G. Fowler, L. C. Noll, K.-P. Vo.
struct Digest {
  std::uint64_t value{0xcbf29ce484222325u};
  void add(const std::string& text) {
    for (const char c : text) value = (value ^ static_cast<unsigned char>(c)) * 0x100000001b3u;
  }
};

std::string text_of_all(const standfast::Effects& effects) {
  return standfast::test::rows_text(effects) + standfast::test::standing_text(effects);
}

int decide(const char* file) {
  const auto prepared = standfast::rehearse::prepare(file);
  if (!prepared) {
    std::fputs(prepared.error().c_str(), stderr);
    return 1;
  }
  standfast::Engine again;  // The same events once more, in an engine of its own: a replay.
  Digest decided, state;
  std::uint64_t events = 0, rows = 0, differing = 0;
  const auto outcome = standfast::rehearse::run(*prepared, [&](const standfast::Event& event, const standfast::Effects& effects) {
    const std::string text = text_of_all(effects);
    if (text_of_all(again.apply(event)) != text) ++differing;
    decided.add(text);
    rows += effects.rows.size();
    if (++events % 10 == 0) state.add(again.snapshot());
  });
  state.add(again.snapshot());
  std::printf("%s: %llu events, %llu decisions %016llx, state %016llx\n", outcome.title.c_str(), static_cast<unsigned long long>(events),
              static_cast<unsigned long long>(rows), static_cast<unsigned long long>(decided.value),
              static_cast<unsigned long long>(state.value));
  if (differing > 0) std::fprintf(stderr, "%s: decided otherwise the second time\n", file);
  return outcome.failing.empty() && differing == 0 ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  int worst = 0;
  for (int i = 1; i < argc; ++i) worst |= decide(argv[i]);
  return worst;
}
