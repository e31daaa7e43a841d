#include "tests/allocations/counted.hpp"

#include <cstdlib>
#include <new>

namespace {

thread_local std::int64_t count = 0;

void* counted(std::size_t bytes) {
  ++count;
  if (void* memory = std::malloc(bytes)) return memory;
  throw std::bad_alloc{};
}

void* counted(std::size_t bytes, std::align_val_t alignment) {
  ++count;
  const auto step = static_cast<std::size_t>(alignment);
  if (void* memory = std::aligned_alloc(step, (bytes + step - 1) / step * step)) return memory;
  throw std::bad_alloc{};
}

}  // namespace

// The other forms of the standard library (arrays, without exceptions) come down to these.
void* operator new(std::size_t bytes) { return counted(bytes); }
void* operator new(std::size_t bytes, std::align_val_t alignment) { return counted(bytes, alignment); }
void operator delete(void* memory) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t) noexcept { std::free(memory); }
void operator delete(void* memory, std::align_val_t) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t, std::align_val_t) noexcept { std::free(memory); }

namespace standfast::test {

std::int64_t allocations() { return count; }

}  // namespace standfast::test
