#include "service/photo_answer.h"

#include <fmt/format.h>

namespace lathbook::service {

reason::Result<store::Blob> photo_bytes(const OpenBook& book, std::string_view id) {
  const auto* document = book::find(book.book().documents, book::DocumentId{std::string(id)});
  if (document == nullptr)
    return reason::Fault{"", std::string(id), "is not a photo of this book", "a document such as D1",
                         reason::FaultKind::kMissing};
  if (!document->media_type.starts_with("image/"))
    return reason::Fault{"", std::string(id), fmt::format("is no picture but {}", document->media_type),
                         "a document that is a JPEG, PNG or WebP picture", reason::FaultKind::kValue};
  return book.store().get_blob(document->sha256);
}

reason::Result<photo::Picture> photo_of(const OpenBook& book, std::string_view id, const photo::Wanted& wanted) {
  const auto bytes = photo_bytes(book, id);
  if (!bytes.ok()) return bytes.faults();
  auto picture = photo::fit(bytes->bytes, wanted);
  if (!picture.ok()) return reason::within(std::string(id), picture.faults());
  return picture;
}

}  // namespace lathbook::service
