#include <fmt/format.h>

#include "broker/mqtt_events.h"

namespace plainwater::broker {
namespace {

std::string with(const ConnectPlan& plan, const std::string& key) {
  return plan.broker.root + "-" + plan.site + "-" + plan.broker.instance + "-" + key +
         plan.client_suffix;
}

}  // namespace

std::string client_id(const ConnectPlan& plan) {
  return with(plan, plan.client_key == 0 ? "" : fmt::format("{:016x}-", plan.client_key));
}

std::string shown_client_id(const ConnectPlan& plan) {
  return with(plan, plan.client_key == 0 ? "" : "*-");
}

}  // namespace plainwater::broker
