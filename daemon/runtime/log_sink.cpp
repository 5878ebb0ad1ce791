#include "runtime/log_sink.h"

#include <spdlog/sinks/base_sink.h>
#include <spdlog/spdlog.h>

#include <memory>
#include <mutex>
#include <string>

#include "runtime/line_writer.h"

namespace plainwater::runtime {
namespace {

class Sink : public spdlog::sinks::base_sink<std::mutex> {
 public:
  explicit Sink(int file) : lines_(file) {}

 private:
  void sink_it_(const spdlog::details::log_msg& message) override {
    spdlog::memory_buf_t text;
    formatter_->format(message, text);
    std::string line(text.data(), text.size());
    if (line.ends_with('\n')) line.pop_back();
    lines_.write(std::move(line));
  }
  void flush_() override {}

  LineWriter lines_;
};

}  // namespace

LogTo::LogTo(int file) {
  spdlog::set_default_logger(
      std::make_shared<spdlog::logger>("plainwaterd", std::make_shared<Sink>(file)));
}

LogTo::~LogTo() { spdlog::shutdown(); }

}  // namespace plainwater::runtime
