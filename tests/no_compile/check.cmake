# Compiles ${CASE} as it stands and once more for every MUST_NOT_COMPILE number it names: the first must pass, the
# others must fail.
function(compiles result)
  execute_process(COMMAND ${COMPILER} -std=c++20 -fsyntax-only -I${ROOT} ${ARGN} ${CASE}
                  RESULT_VARIABLE status OUTPUT_QUIET ERROR_VARIABLE errors)
  set(${result} ${status} PARENT_SCOPE)
  set(errors "${errors}" PARENT_SCOPE)
endfunction()

compiles(status)
if(NOT status EQUAL 0)
  message(FATAL_ERROR "${CASE} should compile without MUST_NOT_COMPILE:\n${errors}")
endif()
file(STRINGS ${CASE} lines REGEX "MUST_NOT_COMPILE == [0-9]+")
if(NOT lines)
  message(FATAL_ERROR "${CASE} has no line with MUST_NOT_COMPILE == <number>")
endif()
foreach(line IN LISTS lines)
  string(REGEX REPLACE ".*MUST_NOT_COMPILE == ([0-9]+).*" "\\1" number "${line}")
  compiles(status -DMUST_NOT_COMPILE=${number})
  if(status EQUAL 0)
    message(FATAL_ERROR "${CASE}: case ${number} compiles and must not")
  endif()
endforeach()
