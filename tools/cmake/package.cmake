# `cpack` in the build folder makes Debian packages: the program, its data, what firmware is built against, and, where they
# were built, the ranks of MPI. tools/package says how they are made the same in every folder.
set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME drybus)
set(CPACK_PACKAGE_VERSION ${PROJECT_VERSION})
set(CPACK_PACKAGE_CONTACT "drybus <drybus@example.invalid>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "${PROJECT_DESCRIPTION}")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_PACKAGE_DIRECTORY ${PROJECT_BINARY_DIR}/packages)
set(CPACK_STRIP_FILES ON)
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_COMPONENTS_GROUPING IGNORE)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION misc)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)
# A folder that the install makes has the rights that everybody expects, whatever the umask of who builds.
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE
  WORLD_READ WORLD_EXECUTE)

set(CPACK_COMPONENTS_ALL program data firmware)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_NAME drybus)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_DEPENDS "drybus-data (= ${PROJECT_VERSION})")
set(CPACK_COMPONENT_PROGRAM_DESCRIPTION "${PROJECT_DESCRIPTION}
 The program, with its manual pages and completions.")

set(CPACK_DEBIAN_DATA_PACKAGE_NAME drybus-data)
set(CPACK_DEBIAN_DATA_PACKAGE_ARCHITECTURE all)
set(CPACK_COMPONENT_DATA_DESCRIPTION "${PROJECT_DESCRIPTION} (families, training, reports)
 What ships with the program: families, scenarios, lessons, schemas.")

set(CPACK_DEBIAN_FIRMWARE_PACKAGE_NAME drybus-dev)
set(CPACK_DEBIAN_FIRMWARE_PACKAGE_ARCHITECTURE all)
set(CPACK_DEBIAN_FIRMWARE_PACKAGE_DEPENDS "drybus (>= ${PROJECT_VERSION})")
set(CPACK_COMPONENT_FIRMWARE_DESCRIPTION "${PROJECT_DESCRIPTION} (for firmware)
 The header that firmware is built against, a template, and files for CMake and pkg-config.")

if(TARGET drybus_mpi)
  list(APPEND CPACK_COMPONENTS_ALL mpi)
  set(CPACK_DEBIAN_MPI_PACKAGE_NAME drybus-mpi)
  set(CPACK_DEBIAN_MPI_PACKAGE_SHLIBDEPS ON)
  set(CPACK_DEBIAN_MPI_PACKAGE_DEPENDS "drybus-data (= ${PROJECT_VERSION}), openmpi-bin")
  set(CPACK_COMPONENT_MPI_DESCRIPTION "${PROJECT_DESCRIPTION} (over many machines)
 Sweeps and checks as jobs of MPI, and a script for arrays of batch jobs.")
endif()
include(CPack)
