#include <catch2/catch.hpp>

#include "daemon/record/schema.hpp"
#include "daemon/record/tables.hpp"
#include "tests/record/fixture.hpp"

using namespace standfast::record;
using namespace standfast::testing;

TEST_CASE("the tables in the program are those of the schema, column by column") {
  const Folder folder;
  write_sample(folder.record());
  for (const TableEntry& entry : table_entries)
    CHECK(ask(folder.record(), "SELECT group_concat(name, ' ') FROM pragma_table_info('" + std::string{entry.name} + "')") ==
          entry.columns);
  CHECK(ask(folder.record(), "SELECT count(*) FROM sqlite_schema WHERE type = 'table'") ==
        std::to_string(table_count + 1));  // And seal.
}

TEST_CASE("every table and every column is described in words, and nothing is that is not there") {
  const Folder folder;
  write_sample(folder.record());
  const std::string columns =
      "WITH col AS (SELECT t.name AS of_table, c.name AS of_column FROM sqlite_schema AS t, pragma_table_info(t.name) AS c "
      "WHERE t.type = 'table' AND t.name NOT LIKE 'sqlite_%') ";
  CHECK(ask(folder.record(), columns + "SELECT of_table, of_column FROM col WHERE NOT EXISTS (SELECT 1 FROM description AS d "
                                       "WHERE d.of_table IN (col.of_table, '*') AND d.of_column = col.of_column)") == "");
  CHECK(ask(folder.record(), columns + "SELECT of_table, of_column FROM description AS d WHERE of_column <> '' AND NOT EXISTS "
                                       "(SELECT 1 FROM col WHERE d.of_table IN (col.of_table, '*') AND "
                                       "d.of_column = col.of_column)") == "");
  CHECK(ask(folder.record(), columns + "SELECT DISTINCT of_table FROM col WHERE of_table NOT IN "
                                       "(SELECT of_table FROM description WHERE of_column = '')") == "");
}

TEST_CASE("no row can be changed, deleted, replaced or put before another") {
  const Folder folder;
  write_sample(folder.record());
  const std::string refused = "error: the record is append-only";
  for (const TableEntry& entry : table_entries) {
    const std::string table{entry.name};
    INFO(table);
    CHECK(ask(folder.record(), "SELECT count(*) > 0 FROM " + table) == "1");
    CHECK(ask(folder.record(), "UPDATE " + table + " SET seq = seq + 1000000") == refused);
    CHECK(ask(folder.record(), "DELETE FROM " + table) == refused);
    CHECK(ask(folder.record(), "INSERT OR REPLACE INTO " + table + " SELECT * FROM " + table) == refused);
  }
  CHECK(ask(folder.record(), "UPDATE seal SET head = zeroblob(32)") == refused);
  CHECK(ask(folder.record(), "DELETE FROM seal") == refused);
  CHECK(ask(folder.record(), "INSERT OR REPLACE INTO seal SELECT * FROM seal") == refused);
  CHECK(ask(folder.record(), "INSERT OR REPLACE INTO span SELECT 99999, number, at_ns, wall_ns, boot_id, software, host, rules, "
                             "first FROM span") == refused);
}

TEST_CASE("the file says whose it is, and is a write-ahead-log database") {
  const Folder folder;
  write_sample(folder.record());
  CHECK(ask(folder.record(), "PRAGMA application_id") == std::to_string(application_id));
  CHECK(ask(folder.record(), "PRAGMA user_version") == std::to_string(schema_version));
  CHECK(ask(folder.record(), "PRAGMA journal_mode") == "wal");
  CHECK(ask(folder.record(), "PRAGMA foreign_key_check") == "");
  CHECK(ask(folder.record(), "PRAGMA integrity_check") == "ok");
  CHECK(ask(folder.record(), "SELECT simulated, job, host FROM about") == "1|Grain store, column C4|test bench");
}

TEST_CASE("the record holds the text of both files and when they were in force") {
  const Folder folder;
  write_sample(folder.record());
  CHECK(ask(folder.record(), "SELECT r.rig_yaml, f.seq FROM in_force AS f JOIN revision AS r ON r.number = f.revision") ==
        sample_bytes.rig_yaml + "|41");
}
