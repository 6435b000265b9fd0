# Writes the source of a function that returns the name and text of data files:
#
#   cmake -DOUT=file.cpp -DFOLDER=dir -DSHOWN=reference/parts -DHEADER=core/.../files.h
#         -DFUNCTION=data_files "-DNAMES=a.toml b.toml" -P embed.cmake
#
# Each file becomes one raw string literal; it must not hold the literal's own end.
separate_arguments(NAMES)
set(entries "")
foreach(name IN LISTS NAMES)
  file(READ "${FOLDER}/${name}" text)
  string(FIND "${text}" ")data\"" end)
  if(NOT end EQUAL -1)
    message(FATAL_ERROR "${name} holds the text that ends its literal")
  endif()
  string(APPEND entries "      {\"${SHOWN}/${name}\", R\"data(${text})data\"},\n")
endforeach()
file(
  WRITE "${OUT}"
  "// Written by embed.cmake from ${SHOWN}/.\n"
  "#include \"${HEADER}\"\n\n"
  "namespace benchproof {\n\n"
  "std::vector<std::pair<std::string, std::string_view>> ${FUNCTION}() {\n"
  "  return {\n${entries}  };\n"
  "}\n\n"
  "}  // namespace benchproof\n")
