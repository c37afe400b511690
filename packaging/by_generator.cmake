# Read by cpack for each kind of package: the tarball gets what only it needs (packaging/CMakeLists.txt).
if(CPACK_GENERATOR STREQUAL TGZ)
  list(GET CPACK_INSTALL_CMAKE_PROJECTS 0 build)
  set(CPACK_INSTALL_CMAKE_PROJECTS "${build};lathbook;ALL;/;${build};lathbook;portable;/")
  set(CPACK_PACKAGING_INSTALL_PREFIX "")
else()
  set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
endif()
