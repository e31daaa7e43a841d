// The way from the engine to those who look: somebody asks, the engine's thread draws one picture of everything when it
// has time, and all who asked get the same one. Nobody asks: nothing is drawn. A thousand ask: one is drawn.
#pragma once

#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <utility>
#include <vector>

#include "daemon/service/inbox.hpp"

namespace standfast {

using Picture = std::shared_ptr<const std::string>;  // JSON.

class Pictures {
 public:
  explicit Pictures(Inbox& inbox) : inbox_{inbox} {}

  // Any thread. `give` is called on the engine's thread and must be quick.
  void ask(std::function<void(Picture)> give) {
    {
      const std::lock_guard lock{mutex_};
      waiting_.push_back(std::move(give));
    }
    inbox_.wake();
  }

  // The engine's thread.
  bool wanted() const {
    const std::lock_guard lock{mutex_};
    return !waiting_.empty();
  }
  void publish(std::string json) {
    std::vector<std::function<void(Picture)>> waiting;
    {
      const std::lock_guard lock{mutex_};
      waiting = std::exchange(waiting_, {});
    }
    const auto picture = std::make_shared<const std::string>(std::move(json));
    for (const auto& give : waiting) give(picture);
  }

 private:
  Inbox& inbox_;
  mutable std::mutex mutex_;
  std::vector<std::function<void(Picture)>> waiting_;
};

}  // namespace standfast
