# lathbook_embed(OUTPUT file.cpp FILES name=path ...): writes a C++ file that holds each file's bytes, for assets/assets.h.
function(lathbook_embed output)
  set(inputs "")
  foreach(entry ${ARGN})
    string(REGEX REPLACE "^[^=]*=" "" path ${entry})
    list(APPEND inputs ${path})
  endforeach()
  list(JOIN ARGN "|" joined)
  add_custom_command(
    OUTPUT ${output}
    COMMAND ${CMAKE_COMMAND} "-DOUTPUT=${output}" "-DENTRIES=${joined}" -P ${CMAKE_SOURCE_DIR}/cmake/embed_files.cmake
    DEPENDS ${inputs} ${CMAKE_SOURCE_DIR}/cmake/embed_files.cmake
    VERBATIM)
endfunction()
