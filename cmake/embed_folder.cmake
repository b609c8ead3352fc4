# Writes a C++ source that holds every file of the folder ${IN} (which may be missing) as ullage::embedded::site_files():
# bytes, the same packed with gzip where that saves a tenth, and a tag of the content.
set(files "")
if(IS_DIRECTORY ${IN})
  file(GLOB_RECURSE files RELATIVE ${IN} ${IN}/*)
  list(SORT files)
endif()
set(arrays "")
set(table "")
set(count 0)
function(as_bytes path out)
  file(READ ${path} hex HEX)
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
  set(${out} "${bytes}" PARENT_SCOPE)
endfunction()
foreach(file ${files})
  as_bytes(${IN}/${file} bytes)
  file(SIZE ${IN}/${file} size)
  file(SHA256 ${IN}/${file} hash)
  string(SUBSTRING ${hash} 0 16 tag)
  string(APPEND arrays "const unsigned char plain${count}[] = {${bytes}0};\n")
  set(packed "{}")
  if(NOT file MATCHES "\\.(png|woff2|ico)$")
    execute_process(COMMAND gzip -9 -n -c ${IN}/${file} OUTPUT_FILE ${OUT}.gz RESULT_VARIABLE failed)
    file(SIZE ${OUT}.gz gz_size)
    math(EXPR limit "${size} * 9 / 10")
    if(failed EQUAL 0 AND gz_size LESS limit)
      as_bytes(${OUT}.gz bytes)
      string(APPEND arrays "const unsigned char packed${count}[] = {${bytes}0};\n")
      set(packed "text(packed${count}, ${gz_size})")
    endif()
  endif()
  string(APPEND table "      {\"${file}\", text(plain${count}, ${size}), ${packed}, \"${tag}\"},\n")
  math(EXPR count "${count} + 1")
endforeach()
file(REMOVE ${OUT}.gz)
file(WRITE ${OUT} "#include \"server/site.h\"
namespace ullage::embedded {
namespace {
[[maybe_unused]] std::string_view text(const unsigned char* bytes, std::size_t size) {
  return {reinterpret_cast<const char*>(bytes), size};
}
${arrays}}  // namespace
const server::SiteFile* site_files(std::size_t& count) {
  static const server::SiteFile files[] = {
${table}      {},
  };
  count = ${count};
  return files;
}
}  // namespace ullage::embedded
")
