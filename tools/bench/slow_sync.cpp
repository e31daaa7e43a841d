// A disk that is slow to say "done": to be loaded before the C library (LD_PRELOAD). Every fsync and fdatasync takes so much
// longer.
#include <dlfcn.h>
#include <time.h>

namespace {

constexpr long longer_ms = 50;

using Sync = int (*)(int);

int slowly(const char* name, int file) {
  const timespec time{0, longer_ms * 1'000'000};
  ::nanosleep(&time, nullptr);
  return reinterpret_cast<Sync>(::dlsym(RTLD_NEXT, name))(file);
}

}  // namespace

extern "C" int fsync(int file) { return slowly("fsync", file); }
extern "C" int fdatasync(int file) { return slowly("fdatasync", file); }
