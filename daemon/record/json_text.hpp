// The little JSON that the record needs: arrays of whole numbers, an array of one string, an object of plain fields. What is
// written here is plain JSON for any program; what is read here is only what was written here.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace standfast::record {

std::string json_numbers(std::span<const std::uint16_t> numbers);  // [1,65535]
std::string json_numbers(std::span<const std::uint8_t> numbers);   // [0,1]
std::string json_line(std::string_view bytes);  // ["a\u00ff"]: each byte outside printable ASCII as \u00XX.

std::string quoted_utf8(std::string_view text);  // "a": control characters as \u00XX, everything else as it stands.

using JsonField = std::variant<std::int64_t, bool, std::string>;
using JsonFields = std::vector<std::pair<std::string, JsonField>>;
std::string json_object(const JsonFields& fields);  // Text is UTF-8 and stays so; control characters as \u00XX.

// None where the text is not of that form, or a number is above `most`.
std::optional<std::vector<std::uint16_t>> numbers_of(std::string_view json, std::uint16_t most);
std::optional<std::string> line_of(std::string_view json);
std::optional<JsonFields> object_of(std::string_view json);

}  // namespace standfast::record
