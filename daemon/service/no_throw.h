// A decision that throws is an error like any other: the input that brought it can be set aside.
#pragma once

#include <exception>
#include <new>
#include <type_traits>
#include <utility>

#include "common/result.h"

namespace plainwater::service {

/// Runs `work`, which gives a Result; what it throws becomes an Error. Want of memory goes on: it
/// is no input's fault.
template <class Work>
auto without_throwing(Work&& work) -> std::invoke_result_t<Work&> {
  try {
    return work();
  } catch (const std::bad_alloc&) { throw; } catch (const std::exception& thrown) {
    return Error{std::string("it could not be decided on: ") + thrown.what(), "",
                 "please report this, with the input"};
  }
}

}  // namespace plainwater::service
