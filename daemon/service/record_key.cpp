#include "daemon/service/record_key.hpp"

#include <sodium.h>

#include "daemon/record/seal.hpp"
#include "daemon/service/whole_file.hpp"

namespace standfast {
namespace {

constexpr std::size_t file_bytes = 2 * record::seed_bytes + 1;

void wipe(std::string& secret) { sodium_memzero(secret.data(), secret.size()); }

Result<bool, std::string> make(const std::string& path) {
  std::string seed = record::new_seed(), text = record::hex_of(seed) + '\n';
  auto made = create_secret_file(path, text);
  wipe(seed);
  wipe(text);
  return made;
}

}  // namespace

RecordKey record_key(const std::string& station) {
  const std::string path = station + "/record.key";
  if (!exists(path))
    if (const auto made = make(path); !made) return Failure{made.error()};
  auto text = read_secret_file(path, file_bytes);
  if (!text) return Failure{text.error()};
  const bool whole = text->size() == file_bytes && text->back() == '\n';
  std::string seed = whole ? record::from_hex(std::string_view{*text}.substr(0, file_bytes - 1)) : std::string{};
  wipe(*text);
  if (seed.size() != record::seed_bytes) return Failure{path + ": not a key"};
  auto signer = std::make_shared<const record::Signer>(seed);
  wipe(seed);
  return signer;
}

}  // namespace standfast
