# Puts the English sentences into ${words_library}, so that the binary needs no files beside it. Included it adds the build
# step; run as a script (-P) it is that step.
if(CMAKE_SCRIPT_MODE_FILE)
  file(GLOB files ${WORDS}/*.yaml)
  list(SORT files)
  set(text "#include \"words/embedded.h\"\n\nnamespace plainwater::words {\n\nstd::span<const std::string_view> embedded_english() {\n  static constexpr std::string_view kAll[] = {\n")
  foreach(path ${files})
    file(READ ${path} content)
    string(APPEND text "      R\"plainwater(${content})plainwater\",\n")
  endforeach()
  string(APPEND text "  };\n  return kAll;\n}\n\n}  // namespace plainwater::words\n")
  file(WRITE ${OUT} "${text}")
  return()
endif()

set(words ${CMAKE_CURRENT_LIST_DIR}/english)
file(GLOB word_files CONFIGURE_DEPENDS ${words}/*.yaml)
set(embedded_words ${CMAKE_CURRENT_BINARY_DIR}/embedded_english.cpp)
add_custom_command(
  OUTPUT ${embedded_words}
  COMMAND ${CMAKE_COMMAND} -DWORDS=${words} -DOUT=${embedded_words} -P ${CMAKE_CURRENT_LIST_DIR}/embed.cmake
  DEPENDS ${word_files} ${CMAKE_CURRENT_LIST_DIR}/embed.cmake
  VERBATIM)
target_sources(${words_library} PRIVATE ${embedded_words})
