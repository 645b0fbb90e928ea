# What `cmake --install` puts where: the program, its data, and what firmware is built against.
include(GNUInstallDirs)
include(CMakePackageConfigHelpers)

install(TARGETS drybus RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
install(DIRECTORY ${PROJECT_SOURCE_DIR}/scenarios/ DESTINATION ${CMAKE_INSTALL_DATADIR}/drybus)
install(DIRECTORY ${PROJECT_SOURCE_DIR}/tests/firmware/template/
        DESTINATION ${CMAKE_INSTALL_DATADIR}/drybus/firmware-template)

add_library(drybus_firmware INTERFACE)
set_target_properties(drybus_firmware PROPERTIES EXPORT_NAME firmware)
target_include_directories(drybus_firmware INTERFACE $<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}>)
install(FILES ${PROJECT_SOURCE_DIR}/model/firmware.h DESTINATION ${CMAKE_INSTALL_INCLUDEDIR}/drybus)
install(TARGETS drybus_firmware EXPORT drybusTargets)

set(config_folder ${CMAKE_INSTALL_LIBDIR}/cmake/drybus)
install(EXPORT drybusTargets NAMESPACE drybus:: DESTINATION ${config_folder})
configure_package_config_file(${CMAKE_CURRENT_LIST_DIR}/drybusConfig.cmake.in ${PROJECT_BINARY_DIR}/drybusConfig.cmake
  INSTALL_DESTINATION ${config_folder} PATH_VARS CMAKE_INSTALL_BINDIR CMAKE_INSTALL_DATADIR)
write_basic_package_version_file(${PROJECT_BINARY_DIR}/drybusConfigVersion.cmake COMPATIBILITY SameMinorVersion)
install(FILES ${PROJECT_BINARY_DIR}/drybusConfig.cmake ${PROJECT_BINARY_DIR}/drybusConfigVersion.cmake
        DESTINATION ${config_folder})

# The same for builds without CMake. The prefix is only known when it is installed.
file(STRINGS ${PROJECT_SOURCE_DIR}/model/firmware.h interface_numbers REGEX "#define DRYBUS_FIRMWARE_(ABI|MINOR) ")
string(REGEX REPLACE "[^0-9]*([0-9]+)u[^0-9]*([0-9]+)u.*" "\\1.\\2" interface_version "${interface_numbers}")
install(CODE "
  set(PROJECT_VERSION ${PROJECT_VERSION})
  set(DRYBUS_INTERFACE_VERSION ${interface_version})
  set(CMAKE_INSTALL_INCLUDEDIR ${CMAKE_INSTALL_INCLUDEDIR})
  set(CMAKE_INSTALL_BINDIR ${CMAKE_INSTALL_BINDIR})
  set(CMAKE_INSTALL_DATADIR ${CMAKE_INSTALL_DATADIR})
  get_filename_component(CMAKE_INSTALL_PREFIX \"\${CMAKE_INSTALL_PREFIX}\" ABSOLUTE)
  configure_file(\"${CMAKE_CURRENT_LIST_DIR}/drybus.pc.in\" \"${PROJECT_BINARY_DIR}/drybus.pc\" @ONLY)
  file(INSTALL \"${PROJECT_BINARY_DIR}/drybus.pc\"
       DESTINATION \"\$ENV{DESTDIR}\${CMAKE_INSTALL_PREFIX}/${CMAKE_INSTALL_LIBDIR}/pkgconfig\")")
