#include "store/seal.h"

#include <openssl/evp.h>

#include <algorithm>
#include <memory>
#include <optional>
#include <string_view>

#include "common/check.h"
#include "common/hex.h"
#include "store/rows.h"

namespace plainwater::store {
namespace {

void begin(evp_md_ctx_st* context) {
  check(EVP_DigestInit_ex(context, EVP_sha256(), nullptr) == 1);
}
void add_to(evp_md_ctx_st* context, std::string_view bytes) {
  check(EVP_DigestUpdate(context, bytes.data(), bytes.size()) == 1);
}
Sha256 end(evp_md_ctx_st* context) {
  Sha256 digest{};
  check(EVP_DigestFinal_ex(context, digest.data(), nullptr) == 1);
  return digest;
}

/// Little-endian, so that a digest is the same on every machine.
void put(std::string& bytes, std::int64_t number) {
  const auto bits = static_cast<std::uint64_t>(number);
  for (int shift = 0; shift < 64; shift += 8) bytes += static_cast<char>(bits >> shift & 0xff);
}
void put(std::string& bytes, std::string_view text) {
  put(bytes, static_cast<std::int64_t>(text.size()));
  bytes += text;
}
std::string_view view(const Sha256& digest) {
  return {reinterpret_cast<const char*>(digest.data()), digest.size()};
}

Sha256 digest_of(const Use& use, int column) {
  const std::string bytes = use.text(column);
  Sha256 digest{};
  std::copy_n(bytes.begin(), std::min(bytes.size(), digest.size()), digest.begin());
  return digest;
}

Seal seal_of(const Use& use) {
  return {use.integer(0),    use.integer(1),    use.integer(2),
          digest_of(use, 3), digest_of(use, 4), digest_of(use, 5)};
}

}  // namespace

std::string hex(const Sha256& digest) { return plainwater::hex(view(digest)); }

SealMaker::SealMaker()
    : readings_(EVP_MD_CTX_new(), EVP_MD_CTX_free), others_(EVP_MD_CTX_new(), EVP_MD_CTX_free) {
  begin(readings_.get());
  begin(others_.get());
}
SealMaker::~SealMaker() = default;

void SealMaker::add(std::int64_t seq, const JournalRow& row) {
  bytes_.clear();
  put(bytes_, seq);
  put(bytes_, static_cast<std::int64_t>(row.kind));
  put(bytes_, to_ms(row.now));
  if (row.kind == JournalKind::reading) {
    put(bytes_, row.sensor);
    put(bytes_, static_cast<std::int64_t>(row.quantity));
    put(bytes_, to_ms(row.time));
    put(bytes_, static_cast<std::int64_t>(row.value));
  } else {
    put(bytes_, row.body);
  }
  const bool thinned = row.kind == JournalKind::reading && row.quantity != Quantity::place;
  ++(thinned ? count_readings_ : count_others_);
  add_to((thinned ? readings_ : others_).get(), bytes_);
}

Seal SealMaker::finish(std::int64_t last_seq, const Sha256& before) {
  Seal seal{last_seq, count_readings_, count_others_, end(readings_.get()), end(others_.get()), {}};
  seal.chain = chain_of(seal, before);
  count_readings_ = count_others_ = 0;
  begin(readings_.get());
  begin(others_.get());
  return seal;
}

Sha256 chain_of(const Seal& seal, const Sha256& before) {
  std::string bytes(view(before));
  for (const auto number : {seal.last_seq, seal.readings, seal.others}) put(bytes, number);
  bytes += view(seal.readings_digest);
  bytes += view(seal.others_digest);
  const std::unique_ptr<evp_md_ctx_st, void (*)(evp_md_ctx_st*)> context(EVP_MD_CTX_new(),
                                                                         EVP_MD_CTX_free);
  begin(context.get());
  add_to(context.get(), bytes);
  return end(context.get());
}

void write_seal(Connection& c, const Seal& seal) {
  Use(c,
      "INSERT INTO seals (last_seq, readings, others, readings_digest, others_digest, chain) "
      "VALUES "
      "(?1, ?2, ?3, ?4, ?5, ?6)")
      .with(seal.last_seq, seal.readings, seal.others, blob(view(seal.readings_digest)),
            blob(view(seal.others_digest)), blob(view(seal.chain)))
      .run();
}

std::optional<Seal> last_seal(Connection& c) {
  Use use(
      c,
      "SELECT last_seq, readings, others, readings_digest, others_digest, chain FROM seals ORDER "
      "BY last_seq DESC LIMIT 1");
  return use.next() ? std::optional(seal_of(use)) : std::nullopt;
}

std::optional<Seal> seal_after(Connection& c, std::int64_t seq) {
  Use use(
      c,
      "SELECT last_seq, readings, others, readings_digest, others_digest, chain FROM seals WHERE "
      "last_seq > ?1 ORDER BY last_seq LIMIT 1");
  return use.with(seq).next() ? std::optional(seal_of(use)) : std::nullopt;
}

std::optional<Seal> next_seal(Connection& c, std::int64_t rows) {
  const auto before = last_seal(c);
  SealMaker maker;
  std::int64_t last = 0;
  walk_journal(c, before ? before->last_seq : 0, [&](std::int64_t seq, const JournalRow& row) {
    maker.add(last = seq, row);
    return --rows > 0;
  });
  if (last == 0) return std::nullopt;
  return maker.finish(last, before ? before->chain : Sha256{});
}

}  // namespace plainwater::store
