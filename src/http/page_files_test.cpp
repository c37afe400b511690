#include "http/page_files.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

namespace lathbook::http {
namespace {

using ::testing::Contains;
using ::testing::IsEmpty;
using ::testing::Key;
using ::testing::Not;
using ::testing::Pair;

class PageFilesTest : public ::testing::Test {
 protected:
  static Response ask(const std::string& path, const std::string& encodings = "", const std::string& has = "") {
    static const PageFiles kFiles({{"index.html", "<!doctype html>"},
                                   {"assets/page-Ab3.js", "let x = 1;"},
                                   {"assets/page-Ab3.js.gz", "zipped"},
                                   {"mark.svg", "<svg/>"}});
    Request request;
    request.method = "GET";
    request.path = path;
    request.accept_encoding = encodings;
    request.if_none_match = has;
    return kFiles.answer(request);
  }
  static std::string tag(const Response& response) {
    for (const auto& [name, value] : response.headers) {
      if (name == "ETag") return value;
    }
    return {};
  }
};

TEST_F(PageFilesTest, AnswersTheCopyTheBrowserTakes) {
  const auto plain = ask("/assets/page-Ab3.js");
  EXPECT_EQ(plain.body, "let x = 1;");
  EXPECT_EQ(plain.content_type, "text/javascript; charset=utf-8");
  EXPECT_THAT(plain.headers, Not(Contains(Key("Content-Encoding"))));
  const auto zipped = ask("/assets/page-Ab3.js", "gzip, deflate, br");
  EXPECT_EQ(zipped.body, "zipped");
  EXPECT_EQ(zipped.content_type, plain.content_type);
  EXPECT_THAT(zipped.headers, Contains(Pair("Content-Encoding", "gzip")));
  for (const auto& one : {plain, zipped}) EXPECT_THAT(one.headers, Contains(Pair("Vary", "Accept-Encoding")));
  EXPECT_NE(tag(plain), tag(zipped));
  // Of a file without a copy there is one answer.
  EXPECT_THAT(ask("/mark.svg", "gzip").headers, Not(Contains(Key("Content-Encoding"))));
  EXPECT_EQ(ask("/assets/page-Ab3.js.gz").status, 404);
  EXPECT_EQ(ask("").status, 404);
}

TEST_F(PageFilesTest, WhatIsNamedByItsContentIsKeptForGood) {
  EXPECT_THAT(ask("/assets/page-Ab3.js").headers,
              Contains(Pair("Cache-Control", "private, max-age=31536000, immutable")));
  for (const char* path : {"/", "/mark.svg"})
    EXPECT_THAT(ask(path).headers, Contains(Pair("Cache-Control", "private, no-cache"))) << path;
}

TEST_F(PageFilesTest, WhatTheBrowserHasIsNotSentAgain) {
  for (const char* encodings : {"", "gzip"}) {
    const auto first = ask("/assets/page-Ab3.js", encodings);
    for (const auto& has : {tag(first), "\"other\", W/" + tag(first), std::string("*")}) {
      const auto again = ask("/assets/page-Ab3.js", encodings, has);
      EXPECT_EQ(again.status, 304) << has;
      EXPECT_THAT(again.body, IsEmpty());
      EXPECT_EQ(tag(again), tag(first));
    }
  }
  EXPECT_EQ(ask("/", "", tag(ask("/mark.svg"))).status, 200);
}

TEST_F(PageFilesTest, TellsWhetherGzipIsTaken) {
  for (const char* yes : {"gzip", "br, gzip;q=0.1", "deflate , gzip ;q=1", "*", "x-gzip", "*;q=0, gzip", "gzip;q=0.05"})
    EXPECT_TRUE(takes_gzip(yes)) << yes;
  for (const char* no : {"", "br", "identity", "gzip;q=0", "gzip;q=0.000, br", "*;q=0", "gzip; q=0, *", "gzippo"})
    EXPECT_FALSE(takes_gzip(no)) << no;
}

}  // namespace
}  // namespace lathbook::http
