// schema.sql, schema_views.sql and schema_words.sql as they stand in the source, one behind the other.
#pragma once

namespace standfast::record {

inline constexpr int schema_version = 2;               // PRAGMA user_version.
inline constexpr int application_id = 1397125732;      // PRAGMA application_id: the letters SFrd.

extern const char* const schema_sql;

}  // namespace standfast::record
