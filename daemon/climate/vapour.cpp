#include "climate/vapour.h"

#include <algorithm>
#include <cmath>

namespace plainwater::climate {
namespace {
constexpr double kA_hpa = 6.1094, kB = 17.625, kC_c = 243.04;
}

double saturation_pressure_kpa(double temperature_c) {
  return kA_hpa / 10 * std::exp(kB * temperature_c / (temperature_c + kC_c));
}

double vapour_pressure_deficit_kpa(double temperature_c, double humidity_rh) {
  return saturation_pressure_kpa(temperature_c) * (1 - humidity_rh / 100);
}

double dew_point_c(double temperature_c, double humidity_rh) {
  const double g =
      std::log(std::max(humidity_rh, 0.1) / 100) + kB * temperature_c / (temperature_c + kC_c);
  return kC_c * g / (kB - g);
}

double absolute_humidity_gm3(double temperature_c, double humidity_rh) {
  const double vapour_hpa = saturation_pressure_kpa(temperature_c) * 10 * humidity_rh / 100;
  return 216.7 * vapour_hpa / (temperature_c + 273.15);
}

}  // namespace plainwater::climate
