// Ed25519 signatures (RFC 8032), by libsodium. Everything is bytes: a seed and a public key have 32, a signature 64.
#pragma once

#include <array>
#include <string>
#include <string_view>

namespace standfast::record {

inline constexpr std::size_t seed_bytes = 32, public_key_bytes = 32, signature_bytes = 64;

// Holds the secret and never shows it; wipes it at its end.
class Signer {
 public:
  explicit Signer(std::string_view seed);
  ~Signer();
  Signer(const Signer&) = delete;
  Signer& operator=(const Signer&) = delete;

  const std::string& public_key() const { return public_key_; }
  std::string sign(std::string_view message) const;

 private:
  std::array<unsigned char, 64> secret_{};
  std::string public_key_;
};

std::string new_seed();  // Of the machine's random numbers.

struct Signed { std::string_view public_key, message, signature; };
bool is_genuine(const Signed& what);  // False too where a length is not right.

}  // namespace standfast::record
