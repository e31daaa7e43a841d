#include "config/quoted.hpp"

#include <cstddef>

namespace standfast {
namespace {

constexpr std::size_t longest_shown = 48;

unsigned byte_at(std::string_view text, std::size_t i) { return static_cast<unsigned char>(text[i]); }

std::size_t length_by_lead(unsigned lead) {
  if (lead < 0x80) return 1;
  if (lead >= 0xC2 && lead <= 0xDF) return 2;
  if (lead >= 0xE0 && lead <= 0xEF) return 3;
  return lead >= 0xF0 && lead <= 0xF4 ? 4 : 0;
}

// Length of the UTF-8 character in front, 0 if there is none fit to be shown (RFC 3629: shortest form, no surrogates,
// to U+10FFFF; the controls U+0080 to U+009F move some terminals).
std::size_t character_length(std::string_view text) {
  const unsigned lead = byte_at(text, 0);
  const std::size_t length = length_by_lead(lead);
  if (length == 1) return 1;
  if (length == 0 || text.size() < length) return 0;
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte_at(text, i) & 0xC0) != 0x80) return 0;
  }
  const unsigned second = byte_at(text, 1);
  const bool control = lead == 0xC2 && second < 0xA0;
  const bool overlong = (lead == 0xE0 && second < 0xA0) || (lead == 0xF0 && second < 0x90);
  const bool outside = (lead == 0xED && second > 0x9F) || (lead == 0xF4 && second > 0x8F);
  return control || overlong || outside ? 0 : length;
}

std::string escaped(unsigned byte) {
  constexpr char hex[] = "0123456789abcdef";
  return {'\\', 'x', hex[byte >> 4U], hex[byte & 0xFU]};
}

}  // namespace

std::string quoted(std::string_view text) {
  std::string shown = "'";
  std::string_view rest = text;
  while (!rest.empty()) {
    const std::size_t length = character_length(rest);
    const bool plain = length > 1 || (length == 1 && byte_at(rest, 0) >= 0x20 && byte_at(rest, 0) != 0x7F);
    const std::size_t taken = length > 1 ? length : 1;
    if (text.size() - rest.size() + taken > longest_shown) return shown + "...'";
    shown += plain ? std::string(rest.substr(0, taken)) : escaped(byte_at(rest, 0));
    rest.remove_prefix(taken);
  }
  return shown + "'";
}

}  // namespace standfast
