#include "common/yaml_tree.h"

#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/parser.h>

#include <sstream>
#include <utility>

namespace plainwater {
namespace {

constexpr std::size_t kDeepest = 16;

/// Thrown through the parser to stop it, and caught in parse_yaml only.
struct Stop {
  YamlFault fault;
};

int line_of(const YAML::Mark& mark) { return mark.line + 1; }

class Builder : public YAML::EventHandler {
 public:
  void OnDocumentStart(const YAML::Mark& mark) override {
    if (seen_)
      throw Stop{{line_of(mark), "a second document begins here",
                  "keep all in one document, without a line ---"}};
    seen_ = true;
  }
  void OnDocumentEnd() override {}
  void OnNull(const YAML::Mark& mark, YAML::anchor_t) override {
    add(leaf(YamlNode::Kind::nothing, mark));
  }
  void OnAlias(const YAML::Mark& mark, YAML::anchor_t) override {
    throw Stop{{line_of(mark), "an alias (*name) is not accepted here",
                "write the value out where it is meant"}};
  }
  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t,
                const std::string& value) override {
    YamlNode node = leaf(YamlNode::Kind::scalar, mark);
    node.text = value;
    node.quoted = tag == "!";
    add(std::move(node));
  }
  void OnSequenceStart(const YAML::Mark& mark, const std::string&, YAML::anchor_t,
                       YAML::EmitterStyle::value) override {
    open(YamlNode::Kind::list, mark);
  }
  void OnSequenceEnd() override { close(); }
  void OnMapStart(const YAML::Mark& mark, const std::string&, YAML::anchor_t,
                  YAML::EmitterStyle::value) override {
    open(YamlNode::Kind::map, mark);
  }
  void OnMapEnd() override { close(); }

  YamlNode take() { return std::move(root_); }

 private:
  struct Open {
    YamlNode node;
    YamlNode key;
    bool has_key = false;
  };

  static YamlNode leaf(YamlNode::Kind kind, const YAML::Mark& mark) {
    YamlNode node;
    node.kind = kind;
    node.line = line_of(mark);
    return node;
  }
  void open(YamlNode::Kind kind, const YAML::Mark& mark) {
    if (open_.size() >= kDeepest)
      throw Stop{{line_of(mark), "nested too deeply", "look for brackets or indentation too many"}};
    open_.push_back({leaf(kind, mark), {}, false});
  }
  void close() {
    YamlNode done = std::move(open_.back().node);
    open_.pop_back();
    add(std::move(done));
  }
  void add(YamlNode node) {
    if (open_.empty()) {
      root_ = std::move(node);
      return;
    }
    Open& parent = open_.back();
    if (parent.node.kind == YamlNode::Kind::list) {
      parent.node.items.push_back(std::move(node));
    } else if (parent.has_key) {
      parent.node.entries.push_back({std::move(parent.key), std::move(node)});
      parent.key = {};
      parent.has_key = false;
    } else {
      if (node.kind != YamlNode::Kind::scalar)
        throw Stop{{node.line, "a key must be a plain word",
                    "put a value that begins with { or [ in quotes"}};
      parent.key = std::move(node);
      parent.has_key = true;
    }
  }

  bool seen_ = false;
  YamlNode root_;
  std::vector<Open> open_;
};

}  // namespace

YamlTree parse_yaml(std::string_view text) {
  Builder builder;
  try {
    std::istringstream stream{std::string(text)};
    YAML::Parser parser(stream);
    while (parser.HandleNextDocument(builder)) {}
    return {builder.take(), {}};
  } catch (const Stop& stop) { return {{}, {stop.fault}}; } catch (const YAML::Exception& e) {
    return {{},
            {{e.mark.is_null() ? 0 : line_of(e.mark), "this is not YAML: " + e.msg,
              "check indentation, colons and quotes at and above this line"}}};
  }
}

}  // namespace plainwater
