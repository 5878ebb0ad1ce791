# Puts config/schemas/*.json into the library, so that `plainwater check --messages` needs no files beside it.
# Included by tools/CMakeLists.txt it adds the build step; run as a script (-P) it is that step.
if(CMAKE_SCRIPT_MODE_FILE)
  file(GLOB files ${SCHEMAS}/*.json)
  list(SORT files)
  set(text "#include \"messages/schemas.h\"\n\nnamespace plainwater::tool {\n\nstd::string_view schema_text(std::string_view name) {\n")
  foreach(path ${files})
    get_filename_component(name ${path} NAME_WE)
    file(READ ${path} content)
    string(APPEND text "  if (name == \"${name}\") return R\"plainwater(${content})plainwater\";\n")
  endforeach()
  string(APPEND text "  return {};\n}\n\n}  // namespace plainwater::tool\n")
  file(WRITE ${OUT} "${text}")
  return()
endif()

get_filename_component(schemas ${CMAKE_CURRENT_LIST_DIR}/../../config/schemas ABSOLUTE)
file(GLOB schema_files CONFIGURE_DEPENDS ${schemas}/*.json)
set(embedded_schemas ${CMAKE_CURRENT_BINARY_DIR}/embedded_schemas.cpp)
add_custom_command(
  OUTPUT ${embedded_schemas}
  COMMAND ${CMAKE_COMMAND} -DSCHEMAS=${schemas} -DOUT=${embedded_schemas} -P ${CMAKE_CURRENT_LIST_DIR}/embed.cmake
  DEPENDS ${schema_files} ${CMAKE_CURRENT_LIST_DIR}/embed.cmake
  VERBATIM)
target_sources(plainwater_messages PRIVATE ${embedded_schemas})
