# The bench of a lesson for browsers (tools/lesson/browser), where Debian's emscripten is installed: build/lesson-bench holds what
# `drybus lesson` puts into a page. It is another compiler's work, so it is a build of its own that looks after itself.
find_program(EMCC emcc)
find_file(EMSCRIPTEN_TOOLCHAIN Emscripten.cmake PATHS /usr/share/emscripten/cmake/Modules/Platform NO_DEFAULT_PATH)
if(NOT EMCC OR NOT EMSCRIPTEN_TOOLCHAIN)
  message(STATUS "No emscripten: `drybus lesson` will say what to install")
  return()
endif()

set(bench ${PROJECT_BINARY_DIR}/lesson-bench)
set(made ${PROJECT_BINARY_DIR}/lesson-bench-build)
# Its linker is a script that looks for Debian's modules for node.
set(with_modules ${CMAKE_COMMAND} -E env NODE_PATH=/usr/share/nodejs:/usr/lib/nodejs)
file(GLOB_RECURSE bench_sources CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/sim/* ${PROJECT_SOURCE_DIR}/model/*
  ${CMAKE_CURRENT_SOURCE_DIR}/base/* ${CMAKE_CURRENT_SOURCE_DIR}/panel/*.cpp ${CMAKE_CURRENT_SOURCE_DIR}/panel/*.h
  ${CMAKE_CURRENT_SOURCE_DIR}/script/* ${CMAKE_CURRENT_SOURCE_DIR}/words/*.cpp ${CMAKE_CURRENT_SOURCE_DIR}/words/*.h ${CMAKE_CURRENT_SOURCE_DIR}/timeline/* ${CMAKE_CURRENT_SOURCE_DIR}/lesson/*.cpp
  ${CMAKE_CURRENT_SOURCE_DIR}/lesson/*.h ${CMAKE_CURRENT_SOURCE_DIR}/lesson/browser/*)
add_custom_command(OUTPUT ${bench}/lesson_bench.wasm.gz ${bench}/lesson_bench.js
  COMMAND ${with_modules} ${CMAKE_COMMAND} -G Ninja -S ${CMAKE_CURRENT_SOURCE_DIR}/lesson/browser -B ${made}
          -DCMAKE_TOOLCHAIN_FILE=${EMSCRIPTEN_TOOLCHAIN} --log-level=WARNING
  COMMAND ${with_modules} ${CMAKE_COMMAND} --build ${made}
  COMMAND ${CMAKE_COMMAND} -E make_directory ${bench}
  COMMAND gzip -9nc ${made}/lesson_bench.wasm > ${bench}/lesson_bench.wasm.gz
  COMMAND ${CMAKE_COMMAND} -E copy ${made}/lesson_bench.js ${bench}/lesson_bench.js
  DEPENDS ${bench_sources} VERBATIM COMMENT "The bench of a lesson as WebAssembly")
add_custom_target(drybus_lesson_bench ALL DEPENDS ${bench}/lesson_bench.wasm.gz)
install(FILES ${bench}/lesson_bench.wasm.gz ${bench}/lesson_bench.js
        DESTINATION ${CMAKE_INSTALL_DATADIR}/drybus/lesson-bench COMPONENT data)
