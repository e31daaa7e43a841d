#include "daemon/record/signature.hpp"

#include <sodium.h>

#include "config/ensure.hpp"

namespace standfast::record {
namespace {

static_assert(seed_bytes == crypto_sign_SEEDBYTES && public_key_bytes == crypto_sign_PUBLICKEYBYTES &&
              signature_bytes == crypto_sign_BYTES);

const unsigned char* bytes_of(std::string_view text) { return reinterpret_cast<const unsigned char*>(text.data()); }
unsigned char* bytes_of(std::string& text) { return reinterpret_cast<unsigned char*>(text.data()); }

}  // namespace

Signer::Signer(std::string_view seed) : public_key_(public_key_bytes, '\0') {
  static_assert(sizeof secret_ == crypto_sign_SECRETKEYBYTES);
  ENSURE(seed.size() == seed_bytes && sodium_init() >= 0);
  ENSURE(crypto_sign_seed_keypair(bytes_of(public_key_), secret_.data(), bytes_of(seed)) == 0);
}

Signer::~Signer() { sodium_memzero(secret_.data(), secret_.size()); }

std::string Signer::sign(std::string_view message) const {
  std::string signature(signature_bytes, '\0');
  ENSURE(crypto_sign_detached(bytes_of(signature), nullptr, bytes_of(message), message.size(), secret_.data()) == 0);
  return signature;
}

std::string new_seed() {
  ENSURE(sodium_init() >= 0);
  std::string seed(seed_bytes, '\0');
  randombytes_buf(seed.data(), seed.size());
  return seed;
}

bool is_genuine(const Signed& what) {
  return what.public_key.size() == public_key_bytes && what.signature.size() == signature_bytes &&
         crypto_sign_verify_detached(bytes_of(what.signature), bytes_of(what.message), what.message.size(),
                                     bytes_of(what.public_key)) == 0;
}

}  // namespace standfast::record
