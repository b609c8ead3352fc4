#include "service/documents/finish_pdf.h"

#define POINTERHOLDER_TRANSITION 4  // qpdf's own pointers are standard ones here
#include <charconv>
#include <exception>
#include <qpdf/QPDF.hh>
#include <qpdf/QPDFPageDocumentHelper.hh>
#include <qpdf/QPDFPageObjectHelper.hh>
#include <qpdf/QPDFWriter.hh>
#include <set>
#include <string_view>

namespace ullage::documents {
namespace {

class Finisher {
 public:
  Finisher(QPDF& file, const FinishedPdf& finish) : file_(file), finish_(finish) {}

  void run() {
    QPDFObjectHandle root = file_.getRoot();
    root.replaceKey("/Lang", QPDFObjectHandle::newUnicodeString(finish_.language));
    root.replaceKey("/ViewerPreferences", QPDFObjectHandle::parse("<< /DisplayDocTitle true >>"));
    QPDFObjectHandle info = file_.getTrailer().getKey("/Info");
    info.replaceKey("/Title", QPDFObjectHandle::newUnicodeString(finish_.title));
    info.replaceKey("/Producer", QPDFObjectHandle::newString("ullage"));
    QPDFObjectHandle tree = root.getKey("/StructTreeRoot");
    if (!tree.isDictionary()) return;  // a document without a word
    element(tree);
    QPDFObjectHandle places = tree.getKey("/ParentTree").getKey("/Nums");
    int page_number = 0;
    for (QPDFPageObjectHelper& page : QPDFPageDocumentHelper(file_).getAllPages()) {
      QPDFObjectHandle of_page = page.getObjectHandle();
      of_page.replaceKey("/Tabs", QPDFObjectHandle::newName("/S"));
      std::set<int> artifacts;
      QPDFObjectHandle content = of_page.getKey("/Contents");
      const std::shared_ptr<Buffer> data = content.getStreamData(qpdf_dl_generalized);
      content.replaceStreamData(
          without_artifacts({reinterpret_cast<const char*>(data->getBuffer()), data->getSize()}, artifacts),
          QPDFObjectHandle::newNull(), QPDFObjectHandle::newNull());
      QPDFObjectHandle owners = places.isArray() && 2 * page_number + 1 < places.getArrayNItems()
                                    ? places.getArrayItem(2 * page_number + 1)
                                    : QPDFObjectHandle::newNull();
      for (const int id : artifacts) {
        if (owners.isArray() && id < owners.getArrayNItems()) owners.setArrayItem(id, QPDFObjectHandle::newNull());
      }
      ++page_number;
    }
  }

 private:
  // Gives an element what its kind needs, and so its children; takes out those that are no content.
  void element(QPDFObjectHandle of) {
    const std::string kind = of.getKey("/S").isName() ? of.getKey("/S").getName() : "";
    if (kind == "/Figure") {
      const std::string says = figure_ < finish_.figures.size() ? finish_.figures[figure_] : "";
      of.replaceKey("/Alt", QPDFObjectHandle::newUnicodeString(says.empty() ? "drawing" : says));
      ++figure_;
    }
    if (kind == "/TH") {
      of.replaceKey(
          "/A", QPDFObjectHandle::parse(in_head_ ? "<< /O /Table /Scope /Column >>" : "<< /O /Table /Scope /Row >>"));
    }
    QPDFObjectHandle kids = of.getKey("/K");
    if (kids.isDictionary()) kids = QPDFObjectHandle::newArray({kids});
    if (!kids.isArray()) return;
    const bool was = in_head_;
    if (kind == "/THead") in_head_ = true;
    QPDFObjectHandle kept = QPDFObjectHandle::newArray();
    for (int i = 0; i < kids.getArrayNItems(); ++i) {
      QPDFObjectHandle kid = kids.getArrayItem(i);
      if (kid.isDictionary() && kid.getKey("/S").isName()) {
        if (kid.getKey("/S").getName() == std::string("/") + kArtifactTag) continue;
        element(kid);
      }
      kept.appendItem(kid);
    }
    in_head_ = was;
    of.replaceKey("/K", kept);
  }

  // A page's content with the artifacts marked as such; cairo writes "/NonStruct << /MCID 7 >> BDC" on a line.
  static std::string without_artifacts(std::string_view content, std::set<int>& ids) {
    const std::string begin = std::string("/") + kArtifactTag + " << /MCID ";
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

  QPDF& file_;
  const FinishedPdf& finish_;
  std::size_t figure_ = 0;
  bool in_head_ = false;
};

}  // namespace

Result<std::string> finished_pdf(const std::string& painted, const FinishedPdf& finish) {
  try {
    QPDF file;
    file.setSuppressWarnings(true);
    file.processMemoryFile("painted", painted.data(), painted.size());
    Finisher(file, finish).run();
    QPDFWriter writer(file);
    writer.setOutputMemory();
    writer.setObjectStreamMode(qpdf_o_generate);
    writer.setMinimumPDFVersion("1.7");
    writer.write();
    const std::shared_ptr<Buffer> bytes = writer.getBufferSharedPointer();
    return std::string(reinterpret_cast<const char*>(bytes->getBuffer()), bytes->getSize());
  } catch (const std::exception& problem) {
    return fail(Code::unavailable, std::string("the PDF could not be finished: ") + problem.what());
  }
}

}  // namespace ullage::documents
