# Writes a C++ source that holds the bytes of ${IN} as ullage::embedded::${SYMBOL}().
file(READ ${IN} hex HEX)
string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
file(WRITE ${OUT} "#include <string_view>
namespace ullage::embedded {
std::string_view ${SYMBOL}();
std::string_view ${SYMBOL}() {
  static const unsigned char bytes[] = {${bytes}0};
  return {reinterpret_cast<const char*>(bytes), sizeof bytes - 1};
}
}  // namespace ullage::embedded
")
