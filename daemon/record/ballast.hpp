// Room that is kept for the hour when the disk is full: a file beside the record that can be deleted.
#pragma once

#include <cstdint>
#include <filesystem>

namespace standfast::record {

class Ballast {
 public:
  Ballast(std::filesystem::path path, std::int64_t bytes) : path_{std::move(path)}, bytes_{bytes} {}
  bool lay_down() const;   // True: it lies there, whole. Leaves four times its size free, or is not laid down.
  bool give_back() const;  // True: it was there, and its room is free now.

 private:
  std::filesystem::path path_;
  std::int64_t bytes_;
};

}  // namespace standfast::record
