#include "service/upkeep.h"

namespace plainwater::service {

bool Upkeep::snapshot_due(Instant now) const {
  if (inputs_ == 0 || now == kNever) return false;
  return inputs_ >= kSnapshotInputs || snapshot_ == kNever || now - snapshot_ >= kSnapshotSpan ||
         now < snapshot_;  // time was set back
}

void Upkeep::seal(store::Store& store, Effects& out) {
  const auto more = store.seal();
  if (!more) out.error("new rows of the journal could not be sealed: " + more.error().message());
  sealing_ = more && *more;
}

void Upkeep::seal_all(store::Store& store, Effects& out) {
  static constexpr int kStepsAtMost = 50;
  sealing_ = true;
  for (int i = 0; i < kStepsAtMost && sealing_; ++i) seal(store, out);
}

void Upkeep::look_after(Recorder& recorder, store::Store& store, Span since_boot, Effects& out) {
  const Instant now = recorder.state().now();
  if (snapshot_due(now) && since_boot - snapshot_at_ >= kSnapshotSpacing) {
    snapshot_at_ = since_boot;
    if (const auto done = recorder.snapshot(); done) {
      inputs_ = 0;
      snapshot_ = now;
      sealing_ = true;
    } else {
      out.error("the snapshot could not be stored: " + done.error().message());
    }
  }
  if (sealing_ && !recorder.trouble()) seal(store, out);
  if (now == kNever || recorder.trouble() || since_boot - retained_at_ < kRetentionSpacing) return;
  const auto step = store.retain(now, raw_days_);
  if (!step) out.error("old readings could not be thinned: " + step.error().message());
  if (!step || !step->more) retained_at_ = since_boot;
}

}  // namespace plainwater::service
