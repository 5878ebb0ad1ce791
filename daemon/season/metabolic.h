// How fast plants' metabolism runs at one night temperature compared with another.
#pragma once

namespace plainwater::season {

/// R(night)/R(reference) by Heskel et al. 2016 (231 species), ln R = 0.1012 T - 0.0005 T² + const;
/// T in °C, each clamped to -10..45, where the fit was made. 1 means as fast as at the reference.
double relative_metabolic_rate(double night_c, double reference_c);

}  // namespace plainwater::season
