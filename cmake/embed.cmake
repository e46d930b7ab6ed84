# sw_embed(TARGET NAME FILE...): puts the files' bytes into TARGET. Generates NAME.hpp with
#   namespace sw::NAME { std::string_view file(std::string_view name); }   // by file name; empty if there is none
# in an include folder of its own, private to TARGET. No file is looked for at run time.
function(sw_embed target name)
  set(folder ${CMAKE_CURRENT_BINARY_DIR}/embedded_${name})
  set(source ${folder}/${name}.cpp)
  list(JOIN ARGN "|" files)
  add_custom_command(
    OUTPUT ${source}
    COMMAND ${CMAKE_COMMAND} -DNAME=${name} -DFOLDER=${folder} "-DFILES=${files}" -P ${CMAKE_SOURCE_DIR}/cmake/embed_files.cmake
    DEPENDS ${ARGN} ${CMAKE_SOURCE_DIR}/cmake/embed_files.cmake
    VERBATIM)
  file(MAKE_DIRECTORY ${folder})
  file(WRITE ${folder}/${name}.hpp.in "#pragma once\n#include <string_view>\nnamespace sw::${name} {\n[[nodiscard]] std::string_view file(std::string_view name);\n}\n")
  configure_file(${folder}/${name}.hpp.in ${folder}/${name}.hpp COPYONLY)
  target_sources(${target} PRIVATE ${source})
  target_include_directories(${target} PRIVATE ${folder})
endfunction()
