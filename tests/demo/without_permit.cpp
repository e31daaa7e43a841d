// The daemon as it is, but for one thing: what it writes for the permit never reaches the module. The demonstration must
// notice. The linker puts this in the place of `make_output_module` (see CMakeLists.txt).
#include <utility>

#include "drivers/make_driver.hpp"

using Made = standfast::Result<std::unique_ptr<standfast::OutputModule>, std::string>;

extern "C++" {
Made real_make(const standfast::OutputModuleStatement&, const standfast::Bus&, const standfast::Clock&,
               standfast::SharedLines&)
    __asm__("__real__ZN9standfast18make_output_moduleB5cxx11ERKNS_21OutputModuleStatementERKNS_3BusERKNS_5ClockERNS_11SharedLinesE");
Made wrapped_make(const standfast::OutputModuleStatement&, const standfast::Bus&, const standfast::Clock&,
               standfast::SharedLines&)
    __asm__("__wrap__ZN9standfast18make_output_moduleB5cxx11ERKNS_21OutputModuleStatementERKNS_3BusERKNS_5ClockERNS_11SharedLinesE");
}

namespace {

class WithoutPermit : public standfast::OutputModule {
 public:
  explicit WithoutPermit(std::unique_ptr<standfast::OutputModule> real) : real_{std::move(real)} {}

  standfast::OutputReport exchange(const standfast::OutputImage& wanted, standfast::Instant deadline) override {
    standfast::OutputImage written = wanted;
    written[standfast::OutputKind::raise_permit] = false;
    return real_->exchange(written, deadline);
  }

 private:
  std::unique_ptr<standfast::OutputModule> real_;
};

}  // namespace

Made wrapped_make(const standfast::OutputModuleStatement& statement, const standfast::Bus& bus, const standfast::Clock& clock,
                  standfast::SharedLines& lines) {
  Made real = real_make(statement, bus, clock, lines);
  if (!real) return real;
  return std::unique_ptr<standfast::OutputModule>{std::make_unique<WithoutPermit>(std::move(*real))};
}
