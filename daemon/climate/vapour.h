// Water vapour of air from temperature (°C) and relative humidity (%RH).
// Source: Alduchov & Eskridge 1996, J. Appl. Meteorol. 35:601 (≤ 0.26 % from -10 to 45 °C).
#pragma once

namespace plainwater::climate {

/// Saturation vapour pressure over water, kPa.
double saturation_pressure_kpa(double temperature_c);
/// Vapour pressure deficit, kPa: what pulls water out of a leaf as warm as the air.
double vapour_pressure_deficit_kpa(double temperature_c, double humidity_rh);
/// Dew point, °C; humidity is taken as at least 0.1 %RH.
double dew_point_c(double temperature_c, double humidity_rh);
/// Absolute humidity, g/m³.
double absolute_humidity_gm3(double temperature_c, double humidity_rh);

}  // namespace plainwater::climate
