# Puts the pages, Debian's dygraphs and the API's description into the board's library, so that the binary needs no files
# beside it. Included by daemon/CMakeLists.txt it adds the build step; run as a script (-P) it is that step.
if(CMAKE_SCRIPT_MODE_FILE)
  file(GLOB files ${PAGES}/*.html ${PAGES}/*.css ${PAGES}/*.js ${PAGES}/*.svg ${PAGES}/*.files)
  list(SORT files)
  set(text "#include \"board/files.h\"\n\nnamespace plainwater::board {\n\nstd::span<const File> files() {\n  static constexpr File kFiles[] = {\n")
  foreach(path ${files} ${DYGRAPHS}/dygraph.min.js ${DYGRAPHS}/dygraph.min.css ${OPENAPI})
    get_filename_component(name ${path} NAME)
    file(READ ${path} content)
    # Pages share a head, a top (which marks the page itself among the links) and a foot.
    if(name MATCHES "[.]html$")
      foreach(part head top foot)
        file(READ ${FRAME}/${part}.html ${part})
      endforeach()
      string(REGEX MATCH "<!-- top( /[a-z]*)? -->\n" place "${content}")
      if(CMAKE_MATCH_1)
        string(STRIP "${CMAKE_MATCH_1}" address)
        string(REPLACE "href=\"${address}\">" "href=\"${address}\" aria-current=\"page\">" top "${top}")
      endif()
      if(place)
        string(REPLACE "${place}" "${top}" content "${content}")
      endif()
      string(REPLACE "<!-- head -->\n" "${head}" content "${content}")
      string(REPLACE "<!-- foot -->\n" "${foot}" content "${content}")
    endif()
    # What points to a map that nobody has only makes browsers ask for it.
    string(REGEX REPLACE "(//|/[*])# sourceMappingURL=[^\n]*" "" content "${content}")
    string(APPEND text "      {\"${name}\", R\"plainwater(${content})plainwater\"},\n")
  endforeach()
  string(APPEND text "  };\n  return kFiles;\n}\n\n}  // namespace plainwater::board\n")
  file(WRITE ${OUT} "${text}")
  return()
endif()

find_path(DYGRAPHS dygraph.min.js PATHS /usr/share/javascript/dygraphs NO_DEFAULT_PATH DOC "Folder of dygraph.min.js and dygraph.min.css")
if(NOT DYGRAPHS)
  message(FATAL_ERROR "dygraphs is missing: install libjs-dygraphs, or give -DDYGRAPHS=FOLDER")
endif()
set(pages ${CMAKE_CURRENT_LIST_DIR}/pages)
get_filename_component(openapi ${CMAKE_CURRENT_LIST_DIR}/../../config/openapi.json ABSOLUTE)
set(frame ${CMAKE_CURRENT_LIST_DIR}/frame)
file(GLOB page_files CONFIGURE_DEPENDS ${pages}/* ${frame}/*)
set(embedded_pages ${CMAKE_CURRENT_BINARY_DIR}/embedded_pages.cpp)
add_custom_command(
  OUTPUT ${embedded_pages}
  COMMAND ${CMAKE_COMMAND} -DPAGES=${pages} -DFRAME=${frame} -DDYGRAPHS=${DYGRAPHS} -DOPENAPI=${openapi} -DOUT=${embedded_pages} -P ${CMAKE_CURRENT_LIST_DIR}/embed.cmake
  DEPENDS ${page_files} ${openapi} ${CMAKE_CURRENT_LIST_DIR}/embed.cmake ${DYGRAPHS}/dygraph.min.js ${DYGRAPHS}/dygraph.min.css
  VERBATIM)
target_sources(plainwater_board PRIVATE ${embedded_pages})
