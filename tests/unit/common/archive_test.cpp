// Bytes of snapshots: saved values come back, and damaged bytes are detected without harm.
#include "common/archive.h"

#include <catch2/catch.hpp>
#include <limits>

using namespace plainwater;

namespace {

enum class Colour : std::uint8_t { red, green, blue };

struct Leaf {
  std::int32_t size = 0;
  double wet = 0;
  bool operator==(const Leaf&) const = default;
  template <class A>
  void fields(A& a) {
    a(size);
    a(wet);
  }
};

struct Plant {
  std::string name;
  Colour colour = Colour::red;
  bool alive = true;
  std::int64_t age = 0;
  Instant potted{};
  std::optional<double> height;
  std::optional<Leaf> oldest;
  std::vector<Leaf> leaves;
  std::map<std::string, std::uint64_t> counts;
  bool operator==(const Plant&) const = default;
  template <class A>
  void fields(A& a) {
    a(name);
    a(colour);
    a(alive);
    a(age);
    a(potted);
    a(height);
    a(oldest);
    a(leaves);
    a(counts);
  }
};

/// Holes came with version 8.
struct Pot {
  std::int32_t litres = 0, holes = 4;
  template <class A>
  void fields(A& a) {
    a(litres);
    if (a.version() >= 8) a(holes);
  }
};

Plant a_plant() {
  Plant p;
  p.name = std::string("Coelogyne \0 cristata", 20);
  p.colour = Colour::blue;
  p.alive = false;
  p.age = -5'000'000'000;
  p.potted = from_ms(1'789'363'860'123);
  p.height = -0.0;
  p.oldest = Leaf{-7, std::numeric_limits<double>::denorm_min()};
  p.leaves = {{1, 0.1},
              {std::numeric_limits<std::int32_t>::min(), std::numeric_limits<double>::infinity()}};
  p.counts = {{"", 0}, {"flowers", std::numeric_limits<std::uint64_t>::max()}};
  return p;
}

template <class T>
std::string saved(T value) {
  ByteWriter bytes;
  Saver save(bytes);
  save(value);
  return bytes.take();
}

}  // namespace

TEST_CASE("Integers are little-endian and whole, doubles are their bits") {
  ByteWriter out;
  out.put(std::uint32_t{0x01020304});
  out.put(std::int16_t{-2});
  out.put(true);
  out.put(1.0);
  out.put(std::string_view("ab"));
  CHECK(out.take() ==
        std::string("\x04\x03\x02\x01\xfe\xff\x01\0\0\0\0\0\0\xf0\x3f\x02\0\0\0ab", 21));
}

TEST_CASE("A saved value loads into one that held something else") {
  const Plant before = a_plant();
  const std::string bytes = saved(before);
  Plant after;
  after.leaves.resize(9);
  after.counts["weeds"] = 3;
  ByteReader in(bytes);
  Loader load(in);
  load(after);
  CHECK(in.ok());
  CHECK(in.at_end());
  CHECK(after == before);
  CHECK(std::signbit(*after.height));
  CHECK(saved(after) == bytes);
}

TEST_CASE("An empty optional empties the one it is loaded into") {
  const std::string bytes = saved(Plant{});
  Plant after = a_plant();
  ByteReader in(bytes);
  Loader load(in);
  load(after);
  CHECK(after == Plant{});
}

TEST_CASE("NaN keeps its bits") {
  const std::string bytes = saved(std::numeric_limits<double>::quiet_NaN());
  double back = 0;
  ByteReader in(bytes);
  in.get(back);
  CHECK(std::isnan(back));
}

TEST_CASE("Bytes cut at any place are detected") {
  const std::string bytes = saved(a_plant());
  for (std::size_t n = 0; n < bytes.size(); ++n) {
    Plant after;
    ByteReader in(std::string_view(bytes).substr(0, n));
    Loader load(in);
    load(after);
    INFO(n);
    CHECK_FALSE(in.ok());
  }
}

TEST_CASE("A count larger than the remaining bytes is refused before anything is reserved") {
  ByteWriter out;
  out.put(std::uint32_t{0xffffffff});
  out.put(std::uint64_t{1});
  const std::string bytes = out.take();
  std::vector<Leaf> leaves(2);
  ByteReader in(bytes);
  Loader load(in);
  load(leaves);
  CHECK(leaves.empty());
  CHECK_FALSE(in.ok());

  std::string text = "old";
  ByteReader again(bytes);
  again.get(text);
  CHECK(text.empty());
  CHECK_FALSE(again.ok());
}

TEST_CASE("Past the end everything is zero, and stays so") {
  ByteReader in(std::string_view("\x01\x02", 2));
  std::uint32_t n = 9;
  in.get(n);
  CHECK(n == 0);
  std::uint8_t byte = 9;
  in.get(byte);  // the two bytes are not returned later
  CHECK(byte == 0);
  CHECK_FALSE(in.ok());
}

namespace {
struct GrownPot {
  std::int32_t litres = 0, holes = 4;
  template <class A>
  void fields(A& a) {
    a(litres);
    if (a.version() >= 8) a(holes);
  }
};
}  // namespace

TEST_CASE("Fields that came later are left as they are when an older state is read") {
  ByteWriter written;
  Saver save(written);
  GrownPot pot{3, 6};
  save(pot);
  const std::string bytes = written.take();
  for (const std::uint32_t version : {7u, 8u}) {
    ByteReader in(version == 7 ? std::string_view(bytes).substr(0, 4) : bytes);
    Loader load(in, version);
    GrownPot read;
    load(read);
    CHECK(in.ok());
    CHECK(in.at_end());
    CHECK(read.litres == 3);
    CHECK(read.holes == (version == 7 ? 4 : 6));
  }
}
