# Puts the migrations sql/NNN-*.sql into the store's library, so that the binary needs no files beside it.
# Included by daemon/CMakeLists.txt it adds the build step; run as a script (-P) it is that step.
if(CMAKE_SCRIPT_MODE_FILE)
  file(GLOB files ${SQL}/[0-9][0-9][0-9]-*.sql)
  list(SORT files)
  set(text "#include \"store/migrations.h\"\n\nnamespace plainwater::store {\n\nconst std::vector<Migration>& migrations() {\n")
  string(APPEND text "  static const std::vector<Migration> all{\n")
  set(expected 0)
  foreach(path ${files})
    get_filename_component(name ${path} NAME)
    math(EXPR expected "${expected} + 1")
    string(REGEX MATCH "^0*([0-9]+)-" number ${name})
    if(NOT CMAKE_MATCH_1 EQUAL expected)
      message(FATAL_ERROR "${name}: migrations are numbered 001, 002, ... without gaps; expected number ${expected}")
    endif()
    file(READ ${path} sql)
    string(APPEND text "      {${expected}, \"${name}\", R\"sql(${sql})sql\"},\n")
  endforeach()
  string(APPEND text "  };\n  return all;\n}\n\n}  // namespace plainwater::store\n")
  file(WRITE ${OUT} "${text}")
  return()
endif()

set(embed_script ${CMAKE_CURRENT_LIST_FILE})
get_filename_component(sql_folder ${CMAKE_CURRENT_LIST_DIR}/../../sql ABSOLUTE)
file(GLOB migration_files CONFIGURE_DEPENDS ${sql_folder}/[0-9][0-9][0-9]-*.sql)
set(embedded ${CMAKE_CURRENT_BINARY_DIR}/embedded_migrations.cpp)
add_custom_command(
  OUTPUT ${embedded}
  COMMAND ${CMAKE_COMMAND} -DSQL=${sql_folder} -DOUT=${embedded} -P ${embed_script}
  DEPENDS ${migration_files} ${embed_script}
  VERBATIM)
target_sources(plainwater_store PRIVATE ${embedded})
