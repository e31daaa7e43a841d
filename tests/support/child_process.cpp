#include "tests/support/child_process.hpp"

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <stdexcept>

extern char** environ;

namespace standfast {

ChildProcess::ChildProcess(const std::vector<std::string>& command) {
  int to_child[2], from_child[2];
  if (pipe2(to_child, O_CLOEXEC) != 0 || pipe2(from_child, O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, to_child[0], STDIN_FILENO);
  posix_spawn_file_actions_adddup2(&actions, from_child[1], STDOUT_FILENO);
  std::vector<char*> arguments;
  for (const std::string& word : command) arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  const int failed = posix_spawn(&pid_, arguments[0], &actions, nullptr, arguments.data(), environ);
  posix_spawn_file_actions_destroy(&actions);
  close(to_child[0]);
  close(from_child[1]);
  input_ = fdopen(to_child[1], "w");
  output_ = fdopen(from_child[0], "r");
  if (failed != 0) throw std::runtime_error("cannot start " + command.front());
}

ChildProcess::~ChildProcess() {
  std::fclose(input_);
  waitpid(pid_, nullptr, 0);
  std::fclose(output_);
}

std::string ChildProcess::read_line() {
  std::string line;
  for (int c = std::fgetc(output_); c != EOF && c != '\n'; c = std::fgetc(output_)) line.push_back(static_cast<char>(c));
  return line;
}

void ChildProcess::write_line(const std::string& line) {
  std::fputs((line + "\n").c_str(), input_);
  std::fflush(input_);
}

}  // namespace standfast
