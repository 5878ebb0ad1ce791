// Turns an exception from a decision into an ordinary error, so that the input that caused it can
// be set aside.
#pragma once

#include <exception>
#include <new>
#include <type_traits>
#include <utility>

#include "common/result.h"

namespace plainwater::service {

/// Runs `work`, which returns a Result; what it throws becomes an Error. Lack of memory is passed
/// on, as no input is to blame.
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
