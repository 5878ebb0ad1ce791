// The service's MQTT clients: made, named and ended on the main thread.
#include <boost/asio/post.hpp>
#include <utility>

#include "outlet/service_state.h"
#include "runtime/log_sink.h"
#include "runtime/service.h"
#include "version.h"

namespace plainwater::runtime {

broker::ConnectPlan Service::plan(const char* suffix) const {
  broker::ConnectPlan plan;
  plan.broker = settings_->broker;
  plan.site = settings_->site.name;
  plan.client_key = keys_.own;
  plan.client_suffix = suffix;
  return plan;
}

std::vector<std::string> Service::subscriptions() {
  const std::lock_guard lock(mutex_);
  return core_->subscriptions();
}

/// Gives up an id that another client has taken, or the two would throw each other out for ever.
void Service::take_client_keys() {
  const auto before = keys_.own;
  {
    const std::lock_guard lock(mutex_);
    keys_ = core_->client_keys();
  }
  if (before != keys_.own) renew_clients();
}

/// The link is opened again by the next tick.
void Service::renew_clients() {
  close_link();
  publisher_.reset();
  open_publisher();
  handle(service::PublisherChanged{});
}

void Service::open_publisher() {
  auto connect = plan("out");
  connect.will =
      broker::Will{topics_.service(), outlet::offline_json(settings_->broker.instance, kVersion),
                   true, static_cast<std::uint32_t>(outlet::kServiceExpiry.count())};
  broker::PublisherEvents events;
  // Called on library threads that hold the library's lock: so the main thread passes it to the
  // core.
  events.on_state = [this, key = keys_.own](const broker::ConnectState& now) {
    boost::asio::post(io_, [this, key, now] {
      pass_acknowledged();
      if (now.taken_over) handle(service::SessionTaken{key});
      handle(service::PublisherChanged{now.connected, now.protocol_version, now.largest_packet});
    });
  };
  events.on_log = log_line;
  events.on_acknowledged = [this](std::uint64_t id) { on_acknowledged(id); };
  events.on_refused = [this](std::uint64_t id, const std::string& reason) {
    boost::asio::post(io_, [this, id, reason] { handle(service::Refused{id, reason}); });
  };
  publisher_ = std::make_unique<broker::MqttPublisher>(std::move(connect), std::move(events));
  publisher_->start();
}

void Service::on_acknowledged(std::uint64_t id) {
  bool first = false;
  {
    const std::lock_guard lock(acknowledged_mutex_);
    first = acknowledged_.empty();
    acknowledged_.push_back(id);
  }
  // Many arrive while the core is busy: they share one transaction.
  if (first) boost::asio::post(io_, [this] { pass_acknowledged(); });
}

void Service::pass_acknowledged() {
  service::Acknowledged acknowledged;
  {
    const std::lock_guard lock(acknowledged_mutex_);
    acknowledged.ids.swap(acknowledged_);
  }
  if (!acknowledged.ids.empty()) handle(std::move(acknowledged));
}

void Service::close_link() {
  if (!link_ && !former_) return;
  link_.reset();
  former_.reset();
  handle(service::LinkChanged{false});
  handle(service::ListeningChanged{false});
}

void Service::open_or_close_link() {
  if (!listen_) return close_link();
  if (link_) return;
  take_client_keys();
  if (!former_) {
    handle(service::ListeningChanged{true});
    if (!keys_.former.empty()) return open_former();
  } else if (!keys_.former.empty()) {
    return;
  }
  former_.reset();
  open_link();
}

void Service::open_former() {
  broker::FormerEvents events;
  events.on_log = log_line;
  events.on_message = [this](const broker::Message& message) { handle(message); };
  events.on_ended = [this](std::uint64_t key, broker::FormerEnd end) {
    handle(service::FormerSessionEnded{key, end == broker::FormerEnd::taken,
                                       end == broker::FormerEnd::not_fetched});
    boost::asio::post(io_, [this] { open_or_close_link(); });
  };
  former_ = std::make_unique<broker::FormerSessions>(plan("in"), subscriptions(), keys_.former,
                                                     std::move(events));
  former_->start();
}

void Service::open_link() {
  broker::LinkEvents events;
  events.on_state = [this, key = keys_.own](const broker::ConnectState& now) {
    if (now.taken_over) handle(service::SessionTaken{key});
    handle(service::LinkChanged{now.connected});
  };
  events.on_log = log_line;
  events.on_message = [this](const broker::Message& message) { handle(message); };
  events.on_fence = [this](std::uint64_t number) {
    const std::lock_guard lock(mutex_);
    if (number >= least_fence_) handle_locked(service::BacklogDrained{});
  };
  {
    const std::lock_guard lock(mutex_);
    least_fence_ = 0;  // a link counts its own
  }
  link_ = std::make_unique<broker::MqttLink>(plan("in"), subscriptions(), std::move(events));
  link_->start();
}

}  // namespace plainwater::runtime
