// The rig must not agree with the daemon because both share code: neither the arithmetic that predicts, nor the one that
// judges, nor the codec that decodes.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <string>

TEST_CASE("the simulated rig includes nothing of what predicts, watches or decodes") {
  int files = 0;
  for (const auto& entry : std::filesystem::directory_iterator{SOURCE_ROOT "/tools/rig"}) {
    if (entry.path().extension() != ".hpp" && entry.path().extension() != ".cpp") continue;
    ++files;
    std::ifstream file{entry.path()};
    for (std::string line; std::getline(file, line);) {
      if (!line.starts_with("#include \"")) continue;
      INFO(entry.path().filename() << ": " << line);
      CHECK_FALSE(line.find("\"daemon/") != std::string::npos);
      CHECK_FALSE(line.find("\"drivers/") != std::string::npos);
      CHECK_FALSE(line.find("\"config/prediction") != std::string::npos);
      CHECK_FALSE(line.find("\"config/raw_value") != std::string::npos);
      CHECK_FALSE(line.find("\"config/plan_check") != std::string::npos);
    }
  }
  CHECK(files > 30);
}
