#include "daemon/record/row_fields.hpp"

namespace standfast::record {

PutFields& PutFields::dimension(Dimension value) {
  std::string words{name_of(value.base)};
  switch (value.per) {
    case Per::none: break;
    case Per::second: words += " per second"; break;
    case Per::decade: words += " per decade"; break;
  }
  return text(words);
}

void TakeFields::fail(std::string_view expected) {
  if (!error_.empty()) return;
  error_ = std::string{entry_of(row_.table).name} + "." + std::string{column_name(row_.table, next_)} + ": expected " +
           std::string{expected};
}

std::string_view column_name(RecordTable table, std::size_t place) {
  std::string_view rest = entry_of(table).columns;
  for (; place > 0; --place) {
    const std::size_t space = rest.find(' ');
    if (space == std::string_view::npos) return "?";
    rest.remove_prefix(space + 1);
  }
  return rest.substr(0, rest.find(' '));
}

}  // namespace standfast::record
