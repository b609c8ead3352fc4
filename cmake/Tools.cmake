# Tools and header-only libraries that every folder uses.

if(EMSCRIPTEN)
  # em++ must not see all of /usr/include, which holds the headers of another C library: the header-only
  # libraries that the engine uses are linked one by one into the build tree.
  set(headers ${PROJECT_BINARY_DIR}/headers)
  file(MAKE_DIRECTORY ${headers})
  foreach(folder /usr/include/eigen3/Eigen /usr/include/tl /usr/include/boost)
    if(EXISTS ${folder})
      get_filename_component(name ${folder} NAME)
      file(CREATE_LINK ${folder} ${headers}/${name} SYMBOLIC)
    endif()
  endforeach()
  add_library(Eigen3::Eigen INTERFACE IMPORTED)
  target_include_directories(Eigen3::Eigen INTERFACE ${headers})
  # The optimiser of the JavaScript part finds Debian's acorn only through NODE_PATH.
  set_property(GLOBAL PROPERTY RULE_LAUNCH_LINK "${CMAKE_COMMAND} -E env NODE_PATH=/usr/share/nodejs")
  return()
endif()

find_package(Eigen3 3.4 REQUIRED NO_MODULE)

# Faster when there, never needed.
find_program(CCACHE ccache)
if(CCACHE AND NOT CMAKE_CXX_COMPILER_LAUNCHER)
  set(CMAKE_CXX_COMPILER_LAUNCHER ${CCACHE})
endif()
find_program(MOLD mold)
if(MOLD)
  add_link_options(-fuse-ld=mold)
endif()
