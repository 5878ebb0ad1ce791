#include "runtime/log_sink.h"

#include <spdlog/sinks/base_sink.h>
#include <spdlog/spdlog.h>

#include <memory>
#include <mutex>
#include <string>

#include "common/one_line.h"
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

void log_line(LogLevel level, const std::string& text) {
  const std::string line = one_line(text);
  switch (level) {
    case LogLevel::debug: spdlog::debug("{}", line); return;
    case LogLevel::info: spdlog::info("{}", line); return;
    case LogLevel::warning: spdlog::warn("{}", line); return;
    case LogLevel::error: spdlog::error("{}", line); return;
    case LogLevel::critical: spdlog::critical("{}", line); return;
  }
}

LogTo::~LogTo() { spdlog::shutdown(); }

}  // namespace plainwater::runtime
