#include "service/documents/finish_pdf.h"

#include <qpdf/qpdf-c.h>  // its C++ headers do not compile as C++20 with clang

#include <charconv>
#include <cstdlib>
#include <memory>
#include <set>
#include <string_view>

namespace ullage::documents {
namespace {

struct Free {
  void operator()(unsigned char* bytes) const { std::free(bytes); }
};

class Finisher {
 public:
  explicit Finisher(const FinishedPdf& finish) : finish_(finish) {
    qpdf_set_suppress_warnings(file_, QPDF_TRUE);
    qpdf_silence_errors(file_);
  }
  ~Finisher() { qpdf_cleanup(&file_); }
  Finisher(const Finisher&) = delete;
  Finisher& operator=(const Finisher&) = delete;

  Result<std::string> run(const std::string& painted) {
    if (failed(qpdf_read_memory(file_, "painted", painted.data(), painted.size(), nullptr))) return problem();
    const qpdf_oh root = qpdf_get_root(file_);
    set(root, "/Lang", text(finish_.language));
    set(root, "/ViewerPreferences", parsed("<< /DisplayDocTitle true >>"));
    const qpdf_oh info = key(qpdf_get_trailer(file_), "/Info");
    set(info, "/Title", text(finish_.title));
    set(info, "/Producer", text("ullage"));
    const qpdf_oh tree = key(root, "/StructTreeRoot");
    if (is_dictionary(tree)) {  // else a document without a word
      element(tree);
      const qpdf_oh owners = key(key(tree, "/ParentTree"), "/Nums");
      for (int page = 0; page < qpdf_get_num_pages(file_); ++page) {
        if (!this->page(qpdf_get_page_n(file_, static_cast<std::size_t>(page)), owners)) return problem();
      }
    }
    if (failed(qpdf_init_write_memory(file_))) return problem();
    qpdf_set_object_stream_mode(file_, qpdf_o_generate);
    qpdf_set_minimum_pdf_version(file_, "1.7");
    if (failed(qpdf_write(file_))) return problem();
    return std::string(reinterpret_cast<const char*>(qpdf_get_buffer(file_)), qpdf_get_buffer_length(file_));
  }

 private:
  static bool failed(QPDF_ERROR_CODE code) { return (code & QPDF_ERRORS) != 0; }
  tl::unexpected<Error> problem() {
    const qpdf_error error = qpdf_get_error(file_);
    return fail(Code::unavailable, std::string("the PDF could not be finished: ") +
                                       (error != nullptr ? qpdf_get_error_message_detail(file_, error) : "unknown"));
  }
  qpdf_oh key(qpdf_oh of, const char* name) { return qpdf_oh_get_key_if_dict(file_, of, name); }
  void set(qpdf_oh of, const char* name, qpdf_oh value) { qpdf_oh_replace_key(file_, of, name, value); }
  qpdf_oh text(const std::string& words) { return qpdf_oh_new_unicode_string(file_, words.c_str()); }
  qpdf_oh parsed(const char* object) { return qpdf_oh_parse(file_, object); }
  bool is_dictionary(qpdf_oh object) { return qpdf_oh_is_dictionary(file_, object) != QPDF_FALSE; }
  int items(qpdf_oh array) {
    return qpdf_oh_is_array(file_, array) != QPDF_FALSE ? qpdf_oh_get_array_n_items(file_, array) : 0;
  }
  qpdf_oh item(qpdf_oh array, int at) { return qpdf_oh_get_array_item(file_, array, at); }
  bool is_a(qpdf_oh element, const char* kind) {
    return qpdf_oh_is_name_and_equals(file_, key(element, "/S"), kind) != QPDF_FALSE;
  }

  // Gives an element what its kind needs, and so its children; takes out those that are no content.
  void element(qpdf_oh of) {
    if (is_a(of, "/Figure")) {
      const std::string says = figure_ < finish_.figures.size() ? finish_.figures[figure_] : "";
      set(of, "/Alt", text(says.empty() ? "drawing" : says));
      ++figure_;
    }
    if (is_a(of, "/TH")) {
      set(of, "/A", parsed(in_head_ ? "<< /O /Table /Scope /Column >>" : "<< /O /Table /Scope /Row >>"));
    }
    const bool was = in_head_;
    if (is_a(of, "/THead")) in_head_ = true;
    const qpdf_oh kids = key(of, "/K");  // one or a list of them
    if (is_dictionary(kids)) element(kids);
    for (int at = items(kids) - 1; at >= 0; --at) {
      if (is_a(item(kids, at), kArtifact.c_str())) qpdf_oh_erase_item(file_, kids, at);
    }
    for (int at = 0; at < items(kids); ++at) {
      const qpdf_oh kid = item(kids, at);
      if (is_dictionary(kid)) element(kid);
    }
    in_head_ = was;
  }

  bool page(qpdf_oh of, qpdf_oh owners) {
    set(of, "/Tabs", parsed("/S"));
    unsigned char* bytes = nullptr;
    std::size_t size = 0;
    if (failed(qpdf_oh_get_page_content_data(file_, of, &bytes, &size))) return false;
    const std::unique_ptr<unsigned char, Free> held(bytes);
    std::set<int> artifacts;
    const std::string content = without_artifacts({reinterpret_cast<const char*>(bytes), size}, artifacts);
    const qpdf_oh none = qpdf_oh_new_null(file_);
    qpdf_oh_replace_stream_data(file_, key(of, "/Contents"), reinterpret_cast<const unsigned char*>(content.data()),
                                content.size(), none, none);
    // The elements that own the page's pieces: pairs of the page's number and a list.
    const int number = qpdf_oh_get_int_value_as_int(file_, key(of, "/StructParents"));
    for (int at = 0; at + 1 < items(owners); at += 2) {
      if (qpdf_oh_get_int_value_as_int(file_, item(owners, at)) != number) continue;
      const qpdf_oh list = item(owners, at + 1);
      for (const int id : artifacts) {
        if (id < items(list)) qpdf_oh_set_array_item(file_, list, id, none);
      }
    }
    return true;
  }

  // A page's content with the artifacts marked as such; cairo writes "/NonStruct << /MCID 7 >> BDC" on a line.
  static std::string without_artifacts(std::string_view content, std::set<int>& ids) {
    const std::string begin = kArtifact + " << /MCID ";
    std::string out;
    out.reserve(content.size());
    std::size_t from = 0;
    for (std::size_t at = content.find(begin); at != std::string_view::npos; at = content.find(begin, from)) {
      int id = -1;
      std::from_chars(content.data() + at + begin.size(), content.data() + content.size(), id);
      const std::size_t end = content.find("BDC", at);
      if (id < 0 || end == std::string_view::npos) break;
      ids.insert(id);
      out += content.substr(from, at - from);
      out += "/Artifact BMC";
      from = end + 3;
    }
    out += content.substr(from);
    return out;
  }

  static inline const std::string kArtifact = std::string("/") + kArtifactTag;
  const FinishedPdf& finish_;
  qpdf_data file_ = qpdf_init();
  std::size_t figure_ = 0;
  bool in_head_ = false;
};

}  // namespace

Result<std::string> finished_pdf(const std::string& painted, const FinishedPdf& finish) {
  return Finisher(finish).run(painted);
}

}  // namespace ullage::documents
