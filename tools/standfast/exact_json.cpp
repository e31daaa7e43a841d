#include "tools/standfast/exact_json.hpp"

#include <boost/json/basic_parser_impl.hpp>
#include <charconv>
#include <string>

namespace standfast::client {
namespace {

namespace json = boost::json;
using Text = json::string_view;
using Error = json::error_code;

// The events of Boost's parser into a value, as its own handler has it, but for on_double.
struct Handler {
  static constexpr std::size_t max_object_size = json::object::max_size(), max_array_size = json::array::max_size(),
                               max_key_size = json::string::max_size(), max_string_size = json::string::max_size();
  json::value_stack values;
  std::string number;

  bool on_document_begin(Error&) { return values.reset(), true; }
  bool on_document_end(Error&) { return true; }
  bool on_object_begin(Error&) { return true; }
  bool on_object_end(std::size_t members, Error&) { return values.push_object(members), true; }
  bool on_array_begin(Error&) { return true; }
  bool on_array_end(std::size_t elements, Error&) { return values.push_array(elements), true; }
  bool on_key_part(Text part, std::size_t, Error&) { return values.push_chars(part), true; }
  bool on_key(Text part, std::size_t, Error&) { return values.push_key(part), true; }
  bool on_string_part(Text part, std::size_t, Error&) { return values.push_chars(part), true; }
  bool on_string(Text part, std::size_t, Error&) { return values.push_string(part), true; }
  bool on_number_part(Text part, Error&) { return number += part, true; }
  bool on_int64(std::int64_t whole, Text, Error&) { return number.clear(), values.push_int64(whole), true; }
  bool on_uint64(std::uint64_t whole, Text, Error&) { return number.clear(), values.push_uint64(whole), true; }
  bool on_double(double about, Text part, Error&) {
    number += part;
    double exact = about;  // Stays where the number is out of a double's range.
    std::from_chars(number.data(), number.data() + number.size(), exact);
    number.clear();
    values.push_double(exact);
    return true;
  }
  bool on_bool(bool truth, Error&) { return values.push_bool(truth), true; }
  bool on_null(Error&) { return values.push_null(), true; }
  bool on_comment_part(Text, Error&) { return true; }
  bool on_comment(Text, Error&) { return true; }
};

}  // namespace

json::value exact_json(std::string_view text, Error& error) {
  json::basic_parser<Handler> parser{json::parse_options{}};
  const std::size_t read = parser.write_some(false, text.data(), text.size(), error);
  if (!error && read < text.size()) error = json::error::extra_data;
  return error ? json::value{} : parser.handler().values.release();
}

}  // namespace standfast::client
