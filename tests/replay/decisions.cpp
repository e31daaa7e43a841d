// Prints what the engine makes of rehearsals, to the bit: for each, the number of events, of decisions, and a digest of
// the engine's whole state after every tenth event. Built by several compilers at several levels, all must print the same.
#include <cstdint>
#include <cstdio>
#include <string>

#include "daemon/core/engine.hpp"
#include "tools/rehearse/run.hpp"

namespace {

// FNV-1a, 64 bits: G. Fowler, L. C. Noll, K.-P. Vo.
struct Digest {
  std::uint64_t value{0xcbf29ce484222325u};
  void add(const std::string& text) {
    for (const char c : text) value = (value ^ static_cast<unsigned char>(c)) * 0x100000001b3u;
  }
};

int decide(const char* file) {
  const auto prepared = standfast::rehearse::prepare(file);
  if (!prepared) {
    std::fputs(prepared.error().c_str(), stderr);
    return 1;
  }
  standfast::Engine again;  // The same events once more, in an engine of its own: a replay.
  Digest digest;
  std::uint64_t events = 0, rows = 0;
  const auto outcome = standfast::rehearse::run(*prepared, [&](const standfast::Event& event, const standfast::Effects& effects) {
    const std::size_t decided = again.apply(event).rows.size();
    if (decided != effects.rows.size()) digest.add("differs");
    rows += decided;
    if (++events % 10 == 0) digest.add(again.snapshot());
  });
  digest.add(again.snapshot());
  std::printf("%s: %llu events, %llu decisions, state %016llx\n", outcome.title.c_str(), static_cast<unsigned long long>(events),
              static_cast<unsigned long long>(rows), static_cast<unsigned long long>(digest.value));
  return outcome.failing.empty() ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  int worst = 0;
  for (int i = 1; i < argc; ++i) worst |= decide(argv[i]);
  return worst;
}
