// The station's list of people as it was read last, for those who must not wait for a disk. Any thread.
#pragma once

#include <mutex>
#include <string>
#include <utility>

#include "daemon/service/people.hpp"

namespace standfast {

class KnownPeople {
 public:
  explicit KnownPeople(std::string station) : station_{std::move(station)} { (void)read(); }

  // May have to wait for a disk.
  Result<People, std::string> read() {
    auto people = read_people(station_);
    if (people) {
      const std::lock_guard lock{mutex_};
      last_ = *people;
    }
    return people;
  }
  People remembered() const {
    const std::lock_guard lock{mutex_};
    return last_;
  }

 private:
  const std::string station_;
  mutable std::mutex mutex_;
  People last_;
};

}  // namespace standfast
