// A row of the table of faults, for test programs; tests/system/faults.py explains it.
#pragma once

#include <cstdlib>
#include <fstream>
#include <iostream>
#include <string>

namespace plainwater {

/// True in tools/soak, which tries everything more often.
inline bool long_tests() {
  const char* set = std::getenv("PLAINWATER_SOAK");
  return set != nullptr && std::string(set) == "1";
}

/// `fault` needs no escaping: letters, digits, blanks and commas.
inline void add_fault_row(const std::string& fault, long tried, long lost, long wrong,
                          const std::string& recovery_s = "null") {
  const std::string row = "{\"fault\": \"" + fault + "\", \"tried\": " + std::to_string(tried) +
                          ", \"lost\": " + std::to_string(lost) +
                          ", \"wrong\": " + std::to_string(wrong) +
                          ", \"recovery_s\": " + recovery_s + ", \"note\": \"\"}";
  std::cout << row << std::endl;
  if (const char* table = std::getenv("PLAINWATER_FAULT_TABLE"))
    std::ofstream(table, std::ios::app) << row << "\n";
}

}  // namespace plainwater
