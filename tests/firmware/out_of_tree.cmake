# As a user would: install drybus to a folder of one's own, build the template against it, run what was built.
#   cmake -DBUILD=... -DSOURCE=... -DFOLDER=... -DCOMPILER=... -P out_of_tree.cmake
file(REMOVE_RECURSE ${FOLDER})
set(prefix ${FOLDER}/prefix)

function(run)
  execute_process(COMMAND ${ARGV} RESULT_VARIABLE result OUTPUT_VARIABLE output ERROR_VARIABLE output)
  if(NOT result EQUAL 0)
    list(JOIN ARGV " " command)
    message(FATAL_ERROR "${command}\n${output}\nended with ${result}")
  endif()
  set(output "${output}" PARENT_SCOPE)
endfunction()

run(${CMAKE_COMMAND} --install ${BUILD} --prefix ${prefix})

# The header by itself is plain C11.
file(WRITE ${FOLDER}/alone.c "#include <drybus/firmware.h>\nint main(void) { return sizeof(drybus_firmware) == 0; }\n")
run(${COMPILER} -std=c11 -pedantic -Wall -Wextra -Werror -I${prefix}/include ${FOLDER}/alone.c -o ${FOLDER}/alone)
run(${FOLDER}/alone)

# A copy of the installed template, as its first lines say.
file(COPY ${prefix}/share/drybus/firmware-template/ DESTINATION ${FOLDER}/dimmer)
run(${CMAKE_COMMAND} -S ${FOLDER}/dimmer -B ${FOLDER}/dimmer/build -DCMAKE_PREFIX_PATH=${prefix})
run(${CMAKE_COMMAND} --build ${FOLDER}/dimmer/build)
run(${CMAKE_CTEST_COMMAND} --test-dir ${FOLDER}/dimmer/build --output-on-failure)
if(NOT output MATCHES "100% tests passed, 0 tests failed out of 2")
  message(FATAL_ERROR "the template's own tests did not run:\n${output}")
endif()

# The same without CMake, by way of pkg-config.
file(GLOB_RECURSE pc ${prefix}/*/drybus.pc)
cmake_path(GET pc PARENT_PATH pc_folder)
set(ENV{PKG_CONFIG_PATH} ${pc_folder})
run(pkg-config --cflags drybus)
string(STRIP "${output}" flags)
run(${COMPILER} -std=c11 -Wall -Wextra -Werror -shared -fPIC -fvisibility=hidden ${flags}
  ${prefix}/share/drybus/firmware-template/dimmer.c -o ${FOLDER}/by_pkg_config.so)
run(pkg-config --variable=firmware_interface drybus)
string(STRIP "${output}" interface)
run(${prefix}/bin/drybus --version)
if(NOT output MATCHES "firmware interface ${interface} ")
  message(FATAL_ERROR "drybus.pc says ${interface}, and the program says:\n${output}")
endif()
run(${prefix}/bin/drybus check ${prefix}/share/drybus/firmware-template --firmware module=${FOLDER}/by_pkg_config.so)

# The installed program with what was built out of tree, on an installed scenario.
run(${prefix}/bin/drybus run ${prefix}/share/drybus/training/press-misread.yaml -q --firmware
  module=${FOLDER}/dimmer/build/dimmer.so)
if(NOT output MATCHES "passed")
  message(FATAL_ERROR "press-misread with the template's dimmer:\n${output}")
endif()
file(REMOVE_RECURSE ${FOLDER})
message("${output}")
