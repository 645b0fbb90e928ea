# What `cmake --install` puts where: the program, its data, and what firmware is built against. Each component is a package
# of its own (package.cmake).
include(GNUInstallDirs)
include(CMakePackageConfigHelpers)

install(TARGETS drybus RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR} COMPONENT program)
install(DIRECTORY ${PROJECT_SOURCE_DIR}/scenarios/ DESTINATION ${CMAKE_INSTALL_DATADIR}/drybus COMPONENT data)

# Manual pages and completions, made by the program from its own help.
set(reference ${PROJECT_BINARY_DIR}/reference)
add_custom_command(OUTPUT ${reference}/made
  COMMAND ${CMAKE_COMMAND} -E rm -rf ${reference}
  COMMAND drybus reference man ${reference}/man
  COMMAND drybus reference completions ${reference}/completions
  COMMAND drybus reference pages ${reference}/pages
  COMMAND ${CMAKE_COMMAND} -E touch ${reference}/made
  DEPENDS drybus VERBATIM)
add_custom_target(drybus_reference ALL DEPENDS ${reference}/made)
install(DIRECTORY ${reference}/man/ DESTINATION ${CMAKE_INSTALL_MANDIR}/man1 COMPONENT program)
foreach(shell drybus:bash-completion/completions _drybus:zsh/vendor-completions drybus.fish:fish/vendor_completions.d)
  string(REPLACE ":" ";" shell ${shell})
  list(GET shell 0 file)
  list(GET shell 1 folder)
  install(FILES ${reference}/completions/${file} DESTINATION ${CMAKE_INSTALL_DATADIR}/${folder} COMPONENT program)
endforeach()

install(DIRECTORY ${PROJECT_SOURCE_DIR}/tests/firmware/template/
        DESTINATION ${CMAKE_INSTALL_DATADIR}/drybus/firmware-template COMPONENT firmware)
add_library(drybus_firmware INTERFACE)
set_target_properties(drybus_firmware PROPERTIES EXPORT_NAME firmware)
target_include_directories(drybus_firmware INTERFACE $<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}>)
install(FILES ${PROJECT_SOURCE_DIR}/model/firmware.h DESTINATION ${CMAKE_INSTALL_INCLUDEDIR}/drybus COMPONENT firmware)
install(TARGETS drybus_firmware EXPORT drybusTargets)

set(config_folder ${CMAKE_INSTALL_LIBDIR}/cmake/drybus)
install(EXPORT drybusTargets NAMESPACE drybus:: DESTINATION ${config_folder} COMPONENT firmware)
configure_package_config_file(${CMAKE_CURRENT_LIST_DIR}/drybusConfig.cmake.in ${PROJECT_BINARY_DIR}/drybusConfig.cmake
  INSTALL_DESTINATION ${config_folder} PATH_VARS CMAKE_INSTALL_BINDIR CMAKE_INSTALL_DATADIR)
write_basic_package_version_file(${PROJECT_BINARY_DIR}/drybusConfigVersion.cmake COMPATIBILITY SameMinorVersion
                                 ARCH_INDEPENDENT)
install(FILES ${PROJECT_BINARY_DIR}/drybusConfig.cmake ${PROJECT_BINARY_DIR}/drybusConfigVersion.cmake
        DESTINATION ${config_folder} COMPONENT firmware)

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
       DESTINATION \"\${CMAKE_INSTALL_PREFIX}/${CMAKE_INSTALL_LIBDIR}/pkgconfig\")" COMPONENT firmware)

# Everything that goes into the packages.
add_custom_target(drybus_handed_out)
add_dependencies(drybus_handed_out drybus_reference)
if(TARGET drybus_mpi)
  add_dependencies(drybus_handed_out drybus_mpi)
  install(TARGETS drybus_mpi RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR} COMPONENT mpi)
  install(PROGRAMS ${PROJECT_SOURCE_DIR}/tools/cluster/drybus-array DESTINATION ${CMAKE_INSTALL_BINDIR} COMPONENT mpi)
endif()
install(FILES ${PROJECT_SOURCE_DIR}/tools/CHANGELOG.md DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT program)
