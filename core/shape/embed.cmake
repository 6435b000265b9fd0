# Writes the source of shapes_text(): cmake -DOUT=file.cpp -DFILE=shapes.toml -P embed.cmake
#
# The file becomes raw string literals; it must not hold a literal's own end. A compiler need take no
# longer literal than 64 kB.
file(READ "${FILE}" text)
string(FIND "${text}" ")data\"" end)
string(LENGTH "${text}" length)
if(NOT end EQUAL -1 OR length GREATER 65000)
  message(FATAL_ERROR "${FILE} is too long, or holds the text that ends its literal")
endif()
file(
  WRITE "${OUT}"
  "// Written by embed.cmake from reference/shapes/.\n"
  "#include \"core/shape/detail/shapes_text.h\"\n\n"
  "namespace benchproof {\n\n"
  "std::string_view shapes_text() {\n"
  "  return R\"data(${text})data\";\n"
  "}\n\n"
  "}  // namespace benchproof\n")
