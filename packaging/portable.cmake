# Run at installation for the portable tarball. LATHBOOK_PROGRAMS are the programs as built; they look for libraries in
# lib/lathbook before anywhere else (INSTALL_RPATH in apps/CMakeLists.txt).
set(into "$ENV{DESTDIR}${CMAKE_INSTALL_PREFIX}")

# glibc belongs to the system's loader and cannot be brought along; all else can.
file(
  GET_RUNTIME_DEPENDENCIES
  EXECUTABLES ${LATHBOOK_PROGRAMS}
  RESOLVED_DEPENDENCIES_VAR libraries
  UNRESOLVED_DEPENDENCIES_VAR missing
  POST_EXCLUDE_REGEXES "/ld-linux[^/]*\\.so" "/lib(c|m|dl|rt|pthread|resolv)\\.so\\.[0-9]+$")
if(missing)
  message(FATAL_ERROR "libraries that are not on this machine: ${missing}")
endif()
list(SORT libraries)

# Which package a file is from, and that package's notices. Debian keeps some under /lib and says so under /usr/lib.
function(take_notices file)
  get_filename_component(real ${file} REALPATH)
  string(REGEX REPLACE "^/usr" "" short ${real})
  foreach(name ${real} ${short} /usr${short})
    execute_process(COMMAND dpkg-query -S ${name} OUTPUT_VARIABLE owner RESULT_VARIABLE status ERROR_QUIET)
    if(status EQUAL 0)
      break()
    endif()
  endforeach()
  if(NOT status EQUAL 0)
    message(FATAL_ERROR "${file} is from no package, so its licence is unknown")
  endif()
  string(REGEX REPLACE ":.*" "" package ${owner})
  file(REAL_PATH /usr/share/doc/${package}/copyright notices)
  file(COPY_FILE ${notices} ${into}/share/doc/lathbook/libraries/${package})
endfunction()

file(MAKE_DIRECTORY ${into}/share/doc/lathbook/libraries)
foreach(library ${libraries})
  file(INSTALL ${library} DESTINATION ${into}/lib/lathbook FOLLOW_SYMLINK_CHAIN)
  take_notices(${library})
endforeach()
foreach(font open-sans/OpenSans-Regular open-sans/OpenSans-Bold gentiumplus/GentiumPlus-Regular gentiumplus/GentiumPlus-Bold)
  file(INSTALL /usr/share/fonts/truetype/${font}.ttf DESTINATION ${into}/share/lathbook/fonts)
  take_notices(/usr/share/fonts/truetype/${font}.ttf)
endforeach()
# The notices name texts that Debian keeps in one place.
file(INSTALL /usr/share/common-licenses/ DESTINATION ${into}/share/doc/lathbook/libraries/common-licenses)
