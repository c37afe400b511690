# lathbook_module(NAME SOURCES ... [DEPENDS modules] [LIBS libraries] [TESTS files])
#
# One folder under src/ is one target, lathbook::NAME. Its public include path holds a link to that folder alone, so a
# file can only include the headers of modules named in DEPENDS (and what those depend on): the picture in
# docs/architecture.md is enforced by the compiler.
#
# Tests of a module are one program, NAME_test. A suite whose name starts with Published is labelled `published`
# (values printed in a named source), Property `property` (identities, brute force), Statistical `statistical`,
# Reference `reference` (another library), Fault `fault`; the rest is `unit`.
function(lathbook_module name)
  cmake_parse_arguments(M "" "" "SOURCES;DEPENDS;LIBS;TESTS;TEST_DEPENDS;TEST_LIBS" ${ARGN})
  set(links ${CMAKE_BINARY_DIR}/include/${name})
  file(MAKE_DIRECTORY ${links})
  file(CREATE_LINK ${CMAKE_SOURCE_DIR}/src/${name} ${links}/${name} SYMBOLIC)

  list(TRANSFORM M_DEPENDS PREPEND lathbook::)
  if(M_SOURCES)
    add_library(lathbook_${name} STATIC ${M_SOURCES})
    set(scope PUBLIC)
    target_link_libraries(lathbook_${name} PRIVATE lathbook_flags)
  else()
    add_library(lathbook_${name} INTERFACE)
    set(scope INTERFACE)
  endif()
  add_library(lathbook::${name} ALIAS lathbook_${name})
  target_include_directories(lathbook_${name} ${scope} ${links})
  target_link_libraries(lathbook_${name} ${scope} ${M_DEPENDS} ${M_LIBS})

  if(M_TESTS AND LATHBOOK_TESTS)
    list(TRANSFORM M_TEST_DEPENDS PREPEND lathbook::)
    add_executable(${name}_test ${M_TESTS})
    target_link_libraries(${name}_test PRIVATE lathbook_${name} lathbook_flags lathbook::testing ${M_TEST_DEPENDS}
                                               ${M_TEST_LIBS} GTest::gmock GTest::gtest_main)
    set(special "")
    foreach(label published property statistical reference fault)
      string(SUBSTRING ${label} 0 1 head)
      string(TOUPPER ${head} head)
      string(SUBSTRING ${label} 1 -1 tail)
      gtest_discover_tests(
        ${name}_test
        TEST_PREFIX ${name}.
        TEST_FILTER "${head}${tail}*"
        TEST_LIST ${name}_${label}
        WORKING_DIRECTORY ${CMAKE_SOURCE_DIR}
        DISCOVERY_TIMEOUT 60
        PROPERTIES LABELS ${label} TIMEOUT 300)
      list(APPEND special "${head}${tail}*")
    endforeach()
    list(JOIN special ":" special)
    gtest_discover_tests(
      ${name}_test
      TEST_PREFIX ${name}.
      TEST_FILTER "-${special}"
      TEST_LIST ${name}_unit
      WORKING_DIRECTORY ${CMAKE_SOURCE_DIR}
      DISCOVERY_TIMEOUT 60
      PROPERTIES LABELS unit TIMEOUT 300)
  endif()
endfunction()
