// Undo and redo against a model that keeps every state: over random edits, with the book closed and opened in between.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "store/store.h"
#include "store/testing.h"

namespace lathbook::store {
namespace {

using reason::FaultKind;
using ::testing::IsEmpty;
using namespace testing;

class PropertyStore : public ::testing::TestWithParam<std::uint64_t> {};

TEST_P(PropertyStore, UndoingAllAndRedoingAllPassesThroughEveryState) {
  const Folder folder;
  RandomEdits draw(GetParam());
  std::vector<Bodies> states(1);
  {
    auto store = got(Store::create(folder / "house.lathbook"));
    for (int i = 0; i < 25; ++i) {
      const auto applied = got(store.apply("step " + std::to_string(i), kNow, draw.step(states.back())));
      if (!applied.changes.empty()) states.push_back(bodies(store));
    }
  }
  auto store = got(Store::open(folder / "house.lathbook", Mode::kReadWrite));
  ASSERT_GT(states.size(), 10U);
  for (std::size_t i = states.size() - 1; i > 0; --i) {
    ASSERT_EQ(bodies(store), states[i]);
    got(store.undo(kNow));
  }
  ASSERT_THAT(bodies(store), IsEmpty());
  ASSERT_FALSE(store.undo(kNow).ok());
  for (std::size_t i = 1; i < states.size(); ++i) {
    got(store.redo(kNow));
    ASSERT_EQ(bodies(store), states[i]);
  }
  ASSERT_FALSE(store.redo(kNow).ok());
  EXPECT_THAT(got(store.verify()), IsEmpty());
}

TEST_P(PropertyStore, AnyOrderOfEditsUndosAndRedosDoesWhatAListOfStatesDoes) {
  const Folder folder;
  RandomEdits draw(GetParam() + 1000);
  const auto path = folder / "house.lathbook";
  auto store = std::make_unique<Store>(got(Store::create(path)));
  std::vector<Bodies> states(1);
  std::size_t at = 0;
  Revision revision = 0;
  int refused = 0;
  for (int i = 0; i < 80; ++i) {
    switch (draw.below(5)) {
      case 0:
      case 1: {
        const auto applied = got(store->apply("edit", kNow, draw.step(states[at]), revision));
        if (applied.changes.empty()) break;
        states.resize(at + 1);  // what could be redone is over
        states.push_back(bodies(*store));
        ++at;
        ++revision;
        const auto redone = store->redo(kNow);
        ASSERT_FALSE(redone.ok());
        ASSERT_EQ(redone.faults().front().kind, FaultKind::kMissing);
        // What the step says it did leads from the state before to the state after.
        Bodies told = states[at - 1];
        for (const auto& change : applied.changes) {
          const auto key = std::pair(change.kind, change.id);
          ASSERT_EQ(change.before.has_value(), told.contains(key));
          if (change.before) {
            ASSERT_EQ(change.before->dump(), told[key]);
          }
          told.erase(key);
          if (change.after) told[key] = change.after->dump();
        }
        ASSERT_EQ(told, states[at]);
        break;
      }
      case 2: {
        const auto undone = store->undo(kNow);
        ASSERT_EQ(undone.ok(), at > 0);
        if (undone.ok()) --at, ++revision;
        refused += undone.ok() ? 0 : 1;
        break;
      }
      case 3: {
        const auto redone = store->redo(kNow);
        ASSERT_EQ(redone.ok(), at + 1 < states.size());
        if (redone.ok()) ++at, ++revision;
        refused += redone.ok() ? 0 : 1;
        break;
      }
      default:
        store.reset();
        store = std::make_unique<Store>(got(Store::open(path, Mode::kReadWrite)));
    }
    ASSERT_EQ(bodies(*store), states[at]);
    ASSERT_EQ(got(store->revision()), revision);
    ASSERT_EQ(got(store->history(1000)).size(), static_cast<std::size_t>(revision));
  }
  EXPECT_GT(refused, 0);
  EXPECT_THAT(got(store->verify()), IsEmpty());
  for (const auto& [key, body] : states[at]) ASSERT_EQ(got(store->read(key.first, key.second)).body.dump(), body);
  got(store->backup_to(folder / "copy.lathbook"));
  EXPECT_EQ(bodies(got(Store::open(folder / "copy.lathbook", Mode::kReadOnly))), states[at]);
}

INSTANTIATE_TEST_SUITE_P(PropertySeeds, PropertyStore, ::testing::Range<std::uint64_t>(1, 9));

}  // namespace
}  // namespace lathbook::store
