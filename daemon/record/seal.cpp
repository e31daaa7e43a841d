#include "daemon/record/seal.hpp"

#include <charconv>

#include <openssl/evp.h>

#include "config/ensure.hpp"

namespace standfast::record {
namespace {

// Fetched once: looking the algorithm up costs more than hashing a row.
const EVP_MD* sha256_algorithm() {
  static const EVP_MD* const algorithm = EVP_MD_fetch(nullptr, "SHA256", nullptr);
  ENSURE(algorithm != nullptr);
  return algorithm;
}

void append_digits(std::string& bytes, char kind, const char* begin, const char* end, char closing) {
  bytes += kind;
  bytes.append(begin, end);
  bytes += closing;
}

}  // namespace

void append_canonical(std::string& bytes, std::int64_t number) {
  char digits[24];
  append_digits(bytes, 'i', digits, std::to_chars(digits, digits + sizeof digits, number).ptr, ';');
}

void append_canonical(std::string& bytes, double number) {
  char digits[32];
  const auto end = std::to_chars(digits, digits + sizeof digits, number, std::chars_format::general, 17).ptr;
  append_digits(bytes, 'r', digits, end, ';');
}

void append_canonical(std::string& bytes, std::string_view text) {
  char digits[24];
  append_digits(bytes, 't', digits, std::to_chars(digits, digits + sizeof digits, text.size()).ptr, ':');
  bytes += text;
}

void append_canonical(std::string& bytes, const Value& value) {
  if (const auto* number = std::get_if<std::int64_t>(&value)) append_canonical(bytes, *number);
  else if (const auto* real = std::get_if<double>(&value)) append_canonical(bytes, *real);
  else if (const auto* text = std::get_if<std::string>(&value)) append_canonical(bytes, std::string_view{*text});
  else bytes += 'n';
}

struct Sha256::Context {
  EVP_MD_CTX* evp{EVP_MD_CTX_new()};
  ~Context() { EVP_MD_CTX_free(evp); }
  void begin() const { ENSURE(EVP_DigestInit_ex2(evp, sha256_algorithm(), nullptr) == 1); }
};

Sha256::Sha256() : context_{std::make_unique<Context>()} { context_->begin(); }
Sha256::~Sha256() = default;

void Sha256::add(std::string_view bytes) { ENSURE(EVP_DigestUpdate(context_->evp, bytes.data(), bytes.size()) == 1); }

std::string Sha256::finish() {
  unsigned char digest[EVP_MAX_MD_SIZE];
  unsigned size = 0;
  ENSURE(EVP_DigestFinal_ex(context_->evp, digest, &size) == 1 && size == head_bytes);
  context_->begin();
  return {digest, digest + size};
}

void Sealer::begin(std::string_view head_before, std::int64_t batch, std::int64_t first_seq, std::int64_t last_seq) {
  ENSURE(head_before.size() == head_bytes);
  bytes_.assign(head_before);
  append_canonical(bytes_, batch);
  append_canonical(bytes_, first_seq);
  append_canonical(bytes_, last_seq);
  hash_.add(bytes_);
}

void Sealer::add(std::int64_t seq, const Row& row) {
  bytes_.clear();
  append_canonical(bytes_, entry_of(row.table).name);
  append_canonical(bytes_, seq);
  for (const Value& value : row.values) append_canonical(bytes_, value);
  hash_.add(bytes_);
}

std::string sha256_hex(std::string_view bytes) {
  Sha256 hash;
  hash.add(bytes);
  return hex_of(hash.finish());
}

std::string hex_of(std::string_view bytes) {
  std::string text;
  for (const char c : bytes) {
    const auto byte = static_cast<unsigned char>(c);
    text += "0123456789abcdef"[byte >> 4];
    text += "0123456789abcdef"[byte & 15];
  }
  return text;
}

std::string from_hex(std::string_view letters) {
  constexpr std::string_view digits = "0123456789abcdef";
  std::string bytes;
  for (std::size_t i = 0; i < letters.size(); i += 2) {
    const auto high = digits.find(letters[i]), low = i + 1 < letters.size() ? digits.find(letters[i + 1]) : digits.npos;
    if (high == digits.npos || low == digits.npos) return {};
    bytes += static_cast<char>(high << 4 | low);
  }
  return bytes;
}

std::string head_text(std::string_view head) {
  const std::string letters = hex_of(head.substr(0, head_bytes / 2));
  std::string text;
  for (std::size_t i = 0; i < letters.size(); i += 4) text += (i == 0 ? "" : " ") + letters.substr(i, 4);
  return text;
}

}  // namespace standfast::record
