// Random numbers that are the same on every machine: a value is a pure function of (seed, stream,
// index), so a season may begin anywhere and be computed in any order.
#pragma once

#include <cstdint>

namespace plainwater::sim {

class Noise {
 public:
  explicit Noise(std::uint64_t seed) : seed_(seed) {}

  std::uint64_t bits(std::uint64_t stream, std::int64_t index) const {
    return mix(mix(mix(seed_) ^ stream) ^ static_cast<std::uint64_t>(index));
  }
  /// From 0 up to, but not including, 1.
  double uniform(std::uint64_t stream, std::int64_t index) const {
    return static_cast<double>(bits(stream, index) >> 11) * 0x1p-53;
  }
  /// Mean 0, standard deviation 1, never beyond 3.5: the sum of four 16-bit uniforms. Uses only
  /// integers and one multiplication, so that mathematics libraries cannot differ.
  double normal(std::uint64_t stream, std::int64_t index) const {
    const std::uint64_t b = bits(stream, index);
    const std::uint64_t sum =
        (b & 0xffff) + ((b >> 16) & 0xffff) + ((b >> 32) & 0xffff) + (b >> 48);
    return (static_cast<double>(sum) - 131070.0) * (1.7320508075688772 / 65536.0);
  }

 private:
  /// The finaliser of the public-domain generator splitmix64.
  static std::uint64_t mix(std::uint64_t x) {
    x += 0x9e3779b97f4a7c15ULL;
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9ULL;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebULL;
    return x ^ (x >> 31);
  }
  std::uint64_t seed_;
};

}  // namespace plainwater::sim
