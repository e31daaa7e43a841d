# The record's schema into the program; the .sql files are the only place where it stands.
file(READ ${CMAKE_CURRENT_LIST_DIR}/schema.sql record_schema)
file(READ ${CMAKE_CURRENT_LIST_DIR}/schema_views.sql record_views)
file(READ ${CMAKE_CURRENT_LIST_DIR}/schema_words.sql record_words)
configure_file(${CMAKE_CURRENT_LIST_DIR}/schema.cpp.in ${CMAKE_CURRENT_BINARY_DIR}/record_schema.cpp @ONLY)
set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS
  ${CMAKE_CURRENT_LIST_DIR}/schema.sql ${CMAKE_CURRENT_LIST_DIR}/schema_views.sql ${CMAKE_CURRENT_LIST_DIR}/schema_words.sql)
target_sources(standfast_record PRIVATE ${CMAKE_CURRENT_BINARY_DIR}/record_schema.cpp)
