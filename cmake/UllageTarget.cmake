# One target per folder. A target sees the headers of the whole tree but links only what it names,
# and tests/architecture checks that it includes only that.

# Sanitizers and the fuzzers' coverage (ULLAGE_CHECKED). The engine is optimised a little, since it computes; the rest is
# not, since it is compiled more than it runs. A null pointer is caught by the address sanitizer; the checks left out would
# double the time of compiling. Undefined behaviour inside Eigen is not looked for either (a sixth of the engine's time of
# compiling); Eigen asserts its own sizes here, and addresses are watched there too.
set(ULLAGE_CHECKS -fsanitize=address,undefined,fuzzer-no-link -fno-sanitize=null,alignment,object-size,vptr,pointer-overflow
                  -fno-sanitize-recover=all -fno-omit-frame-pointer
                  -fsanitize-ignorelist=${PROJECT_SOURCE_DIR}/cmake/not_checked.txt)
function(ullage_check target kind)
  target_compile_options(${target} PRIVATE ${ULLAGE_CHECKS})
  target_link_options(${target} PRIVATE ${ULLAGE_CHECKS})
  if(kind STREQUAL engine)
    target_compile_options(${target} PRIVATE -O1)
  endif()
endfunction()

# The target that compiles the headers from outside once for all targets of a kind. GCC has that for tests only: in
# its build of the rest a missing include shows, and warnings that GCC 12 keeps quiet about the C++ library's own headers
# are no longer kept quiet where those were compiled beforehand.
function(ullage_headers kind)
  if(TARGET ullage_headers_${kind})
    return()
  endif()
  set(headers <algorithm> <array> <chrono> <cmath> <filesystem> <functional> <map> <memory> <optional> <ranges> <span>
              <sstream> <string> <unordered_map> <variant> <vector> <tl/expected.hpp> <Eigen/Core>)
  if(NOT kind STREQUAL engine)
    list(APPEND headers <nlohmann/json.hpp>)
  endif()
  if(kind STREQUAL test)
    list(APPEND headers <gtest/gtest.h> <gmock/gmock.h>)
  endif()
  file(WRITE ${PROJECT_BINARY_DIR}/headers_${kind}.cc "")
  add_library(ullage_headers_${kind} STATIC ${PROJECT_BINARY_DIR}/headers_${kind}.cc)
  target_precompile_headers(ullage_headers_${kind} PRIVATE ${headers})
  target_compile_definitions(ullage_headers_${kind} PRIVATE EIGEN_MPL2_ONLY)
  target_link_libraries(ullage_headers_${kind} PRIVATE Eigen3::Eigen $<$<STREQUAL:${kind},test>:GTest::gtest>)
  ullage_compile_options(ullage_headers_${kind} ${kind})
endfunction()

# ullage_compile_options(<target> [<kind>]): kind is engine, service (when nothing is said), test or computing_test.
function(ullage_compile_options target)
  set(kind ${ARGN} service)
  list(GET kind 0 kind)
  target_include_directories(${target} PRIVATE ${PROJECT_SOURCE_DIR})
  target_compile_options(${target} PRIVATE -Wall -Wextra -Wpedantic -Wshadow -Wnon-virtual-dtor)
  if(ULLAGE_WERROR)
    target_compile_options(${target} PRIVATE -Werror)
  endif()
  if(ULLAGE_CHECKED)
    ullage_check(${target} ${kind})
  elseif(kind STREQUAL test)
    # What a test computes is in the libraries; its own code is compiled more than it runs.
    target_compile_options(${target} PRIVATE -O0)
  elseif(kind STREQUAL computing_test)
    # Tests that compute the same in another way. So optimised, GCC 12 takes the + of two texts for a write out of bounds.
    target_compile_options(${target} PRIVATE -O1 -Wno-array-bounds)
  endif()
  if(NOT target MATCHES "^ullage_headers" AND (ULLAGE_CHECKED OR kind STREQUAL test))
    ullage_headers(${kind})
    target_precompile_headers(${target} REUSE_FROM ullage_headers_${kind})
  endif()
endfunction()

# ullage_library(<name> FOLDER <dir> [USES <names of other folders>] [NEEDS <imported targets>])
# Compiles every .cc of the folder except tests (*_test.cc) and main.cc into ullage_<name>.
function(ullage_library name)
  cmake_parse_arguments(ARG "" "FOLDER" "USES;NEEDS" ${ARGN})
  file(GLOB sources CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/${ARG_FOLDER}/*.cc)
  list(FILTER sources EXCLUDE REGEX "(_test|/main)\\.cc$")
  if(NOT sources)
    file(WRITE ${PROJECT_BINARY_DIR}/empty_${name}.cc "")
    set(sources ${PROJECT_BINARY_DIR}/empty_${name}.cc)
  endif()
  add_library(ullage_${name} STATIC ${sources})
  string(REGEX MATCH "^engine" kind ${ARG_FOLDER})
  ullage_compile_options(ullage_${name} ${kind})
  target_compile_definitions(ullage_${name} PUBLIC EIGEN_MPL2_ONLY)
  target_link_libraries(ullage_${name} PRIVATE Eigen3::Eigen)
  foreach(used ${ARG_USES})
    target_link_libraries(ullage_${name} PUBLIC ullage_${used})
  endforeach()
  if(ARG_NEEDS)
    target_link_libraries(ullage_${name} PRIVATE ${ARG_NEEDS})
  endif()
endfunction()

# ullage_test(<name> FOLDER <dir> [SLOW] [USES <folders>] [NEEDS <imported targets>]): every *_test.cc of the folder.
# SLOW tests carry the label "slow"; the job "checked" leaves them out, and every test suite named *Slow.
function(ullage_test name)
  cmake_parse_arguments(ARG "SLOW" "FOLDER" "USES;NEEDS" ${ARGN})
  file(GLOB sources CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/${ARG_FOLDER}/*_test.cc)
  if(NOT sources)
    return()
  endif()
  add_executable(${name}_test ${sources})
  set(kind test)
  if(NOT ULLAGE_CHECKED AND ARG_FOLDER MATCHES "^(engine|tests)/")
    set(kind computing_test)
  endif()
  ullage_compile_options(${name}_test ${kind})
  target_link_libraries(${name}_test PRIVATE GTest::gtest_main GTest::gmock Eigen3::Eigen ${ARG_NEEDS})
  foreach(used ${ARG_USES})
    target_link_libraries(${name}_test PRIVATE ullage_${used})
  endforeach()
  target_compile_definitions(${name}_test PRIVATE ULLAGE_SOURCE_DIR="${PROJECT_SOURCE_DIR}"
                                                  ULLAGE_BINARY_DIR="${PROJECT_BINARY_DIR}")
  set(label ${name})
  if(ARG_SLOW)
    set(label slow)
  endif()
  gtest_discover_tests(${name}_test DISCOVERY_TIMEOUT 60 PROPERTIES TIMEOUT 600 LABELS ${label})
endfunction()

# ullage_embed_file(<target> <symbol> <full path>): the same for a file anywhere.
function(ullage_embed_file target symbol file)
  set(out ${PROJECT_BINARY_DIR}/embedded_${symbol}.cc)
  add_custom_command(OUTPUT ${out}
    COMMAND ${CMAKE_COMMAND} -DIN=${file} -DOUT=${out} -DSYMBOL=${symbol}
            -P ${PROJECT_SOURCE_DIR}/cmake/embed.cmake
    DEPENDS ${file} ${PROJECT_SOURCE_DIR}/cmake/embed.cmake)
  target_sources(${target} PRIVATE ${out})
endfunction()

# ullage_embed(<target> <symbol> <file>): the file's bytes as std::string_view ullage::embedded::<symbol>().
function(ullage_embed target symbol file)
  set(out ${PROJECT_BINARY_DIR}/embedded_${symbol}.cc)
  add_custom_command(OUTPUT ${out}
    COMMAND ${CMAKE_COMMAND} -DIN=${PROJECT_SOURCE_DIR}/${file} -DOUT=${out} -DSYMBOL=${symbol}
            -P ${PROJECT_SOURCE_DIR}/cmake/embed.cmake
    DEPENDS ${PROJECT_SOURCE_DIR}/${file} ${PROJECT_SOURCE_DIR}/cmake/embed.cmake)
  target_sources(${target} PRIVATE ${out})
endfunction()

# ullage_embed_folder(<target> <folder>): every file of a folder that may be missing, see cmake/embed_folder.cmake.
function(ullage_embed_folder target folder)
  set(out ${PROJECT_BINARY_DIR}/embedded_site.cc)
  file(GLOB_RECURSE files CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/${folder}/*)
  add_custom_command(OUTPUT ${out}
    COMMAND ${CMAKE_COMMAND} -DIN=${PROJECT_SOURCE_DIR}/${folder} -DOUT=${out}
            -P ${PROJECT_SOURCE_DIR}/cmake/embed_folder.cmake
    DEPENDS ${files} ${PROJECT_SOURCE_DIR}/cmake/embed_folder.cmake)
  target_sources(${target} PRIVATE ${out})
endfunction()
