//! What a set of coefficients must answer.

/// Drag and lift: force = ½ ρ A V² × coefficient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Coefficients {
    /// Along the air's stream.
    pub(super) drag: f64,
    /// Across it and across the spin's axis.
    pub(super) lift: f64,
}

/// Where the coefficients were measured, for this ball in this air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Coverage {
    pub(super) speed_m_s: (f64, f64),
    pub(super) spin_rpm: (f64, f64),
    pub(super) source: &'static str,
}

/// Coefficients by the speed through the air and the spin.
pub(super) trait Aerodynamics: Copy {
    /// Always finite, drag never negative.
    fn at(&self, speed_m_s: f64, spin_rpm: f64) -> Coefficients;

    /// Where they were measured.
    fn coverage(&self) -> Coverage;
}
