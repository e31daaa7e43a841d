// A program beside the test, talked to over its standard input and output. It ends with its input.
#pragma once

#include <sys/types.h>

#include <cstdio>
#include <string>
#include <vector>

namespace standfast {

class ChildProcess {
 public:
  explicit ChildProcess(const std::vector<std::string>& command);
  ~ChildProcess();  // Closes its input and waits for its end.
  ChildProcess(const ChildProcess&) = delete;
  ChildProcess& operator=(const ChildProcess&) = delete;

  std::string read_line();  // Without its end; empty once there is no more.
  void write_line(const std::string& line);

 private:
  pid_t pid_{-1};
  std::FILE* output_{nullptr};
  std::FILE* input_{nullptr};
};

}  // namespace standfast
