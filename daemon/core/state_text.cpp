#include "daemon/core/state_text.hpp"

namespace standfast {
namespace {

constexpr char hex[] = "0123456789abcdef";

int hex_value(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  return -1;
}

bool is_plain(unsigned char c) { return c >= 0x20 && c != '"' && c != '\\' && c != 0x7f; }

}  // namespace

std::string in_quotes(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (is_plain(byte)) out += c;
    else { out += '\\'; out += hex[byte >> 4]; out += hex[byte & 15]; }
  }
  return out + '"';
}

std::optional<std::string> out_of_quotes(std::string_view text) {
  if (text.size() < 2 || text.front() != '"' || text.back() != '"') return std::nullopt;
  text = text.substr(1, text.size() - 2);
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] != '\\') { out += text[i]; continue; }
    if (i + 2 >= text.size()) return std::nullopt;
    const int high = hex_value(text[i + 1]), low = hex_value(text[i + 2]);
    if (high < 0 || low < 0) return std::nullopt;
    out += static_cast<char>(high * 16 + low);
    i += 2;
  }
  return out;
}

}  // namespace standfast
