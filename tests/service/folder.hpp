// A folder of its own that is gone with the test.
#pragma once

#include <stdlib.h>

#include <filesystem>
#include <string>

#include "config/ensure.hpp"

namespace standfast {

class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "standfast-test-XXXXXX").string();
    ENSURE(::mkdtemp(name.data()) != nullptr);
    path_ = name;
  }
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  const std::string& path() const { return path_; }

 private:
  std::string path_;
};

}  // namespace standfast
