# Writes a source with the texts of files as constants: cmake -DOUT=FILE
# -DFILES="name=path;name=path" -P embed.cmake
set(text "// Made by cli/render/page/embed.cmake.\n#include \"cli/render/page/assets.h\"\n\nnamespace benchproof {\n")
foreach(item ${FILES})
  string(REGEX MATCH "^([a-zA-Z_]+)=(.*)$" found "${item}")
  set(name "${CMAKE_MATCH_1}")
  file(READ "${CMAKE_MATCH_2}" content)
  # A browser that looks for the map of a script would ask for a file.
  string(REGEX REPLACE "\n//# sourceMappingURL=[^\n]*" "" content "${content}")
  string(APPEND text "const std::string_view ${name} = R\"embedded(${content})embedded\";\n")
endforeach()
string(APPEND text "}  // namespace benchproof\n")
file(WRITE "${OUT}" "${text}")
