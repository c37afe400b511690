# Run as a script by lathbook_embed(): ENTRIES is "name=path|name=path…", OUTPUT the C++ file to write.
string(REPLACE "|" ";" entries "${ENTRIES}")
set(arrays "")
set(table "")
set(count 0)
foreach(entry ${entries})
  string(REGEX REPLACE "=.*$" "" name ${entry})
  string(REGEX REPLACE "^[^=]*=" "" path ${entry})
  file(READ ${path} hex HEX)
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
  string(REGEX REPLACE "(................................................................................)" "\\1\n" bytes "${bytes}")
  string(APPEND arrays "constexpr unsigned char kFile${count}[] = {\n${bytes}0x00};\n")
  string(APPEND table "    {\"${name}\", {reinterpret_cast<const char*>(kFile${count}), sizeof(kFile${count}) - 1}},\n")
  math(EXPR count "${count} + 1")
endforeach()
file(WRITE ${OUTPUT}.new
     "// Written by cmake/embed_files.cmake; do not edit.\n#include \"assets/assets.h\"\n\nnamespace lathbook::assets {\nnamespace {\n"
     "${arrays}"
     "}  // namespace\n\nstd::span<const Asset> all() {\n  static const Asset kAll[] = {\n${table}  };\n  return kAll;\n}\n}  // namespace lathbook::assets\n")
file(RENAME ${OUTPUT}.new ${OUTPUT})
