//! The Rosenbrock method and its continuous extension.

use tidewall_lanes::Lane;

/// Most stages a method may have.
pub const STAGES: usize = 6;

/// Coefficients of a stiffly accurate Rosenbrock method in the transformed form
/// `(M/(γh) − J) U_i = f(t + α_i h, y + Σ a_ij U_j) + M Σ (c_ij/h) U_j + γ_i h f_t`.
///
/// # Reference
/// E. Hairer, G. Wanner: Solving Ordinary Differential Equations II, section IV.7 (RODAS: six stages, order 4 with
/// an embedded order 3, L-stable, stiffly accurate, also for differential-algebraic equations of index 1).
/// Coefficients from memory; their order is measured in the tests.
#[derive(Clone, Copy, Debug)]
pub struct Tableau {
    /// Diagonal coefficient.
    pub gamma: f64,
    /// Stage times as fractions of the step.
    pub alpha: [f64; STAGES],
    /// Factors of the time derivative.
    pub gamma_sum: [f64; STAGES],
    /// Stage coupling in the argument.
    pub a: [[f64; STAGES]; STAGES],
    /// Stage coupling on the right-hand side.
    pub c: [[f64; STAGES]; STAGES],
    /// Continuous extension, quadratic term.
    pub d2: [f64; STAGES],
    /// Continuous extension, cubic term.
    pub d3: [f64; STAGES],
}

/// RODAS of order 4(3).
pub const RODAS: Tableau = Tableau {
    gamma: 0.25,
    alpha: [0.0, 0.386, 0.21, 0.63, 1.0, 1.0],
    gamma_sum: [0.25, -0.1043, 0.1035, -0.036_200_000_000_000_23, 0.0, 0.0],
    a: [
        [0.0; 6],
        [1.544, 0.0, 0.0, 0.0, 0.0, 0.0],
        [
            0.946_678_528_081_582_6,
            0.255_701_169_898_328_4,
            0.0,
            0.0,
            0.0,
            0.0,
        ],
        [
            3.314_825_187_068_521,
            2.896_124_015_972_201,
            0.998_641_913_997_781_7,
            0.0,
            0.0,
            0.0,
        ],
        [
            1.221_224_509_226_641,
            6.019_134_481_288_629,
            12.537_083_329_320_87,
            -0.687_886_036_105_895,
            0.0,
            0.0,
        ],
        [
            1.221_224_509_226_641,
            6.019_134_481_288_629,
            12.537_083_329_320_87,
            -0.687_886_036_105_895,
            1.0,
            0.0,
        ],
    ],
    c: [
        [0.0; 6],
        [-5.6688, 0.0, 0.0, 0.0, 0.0, 0.0],
        [
            -2.430_093_356_833_875,
            -0.206_359_915_709_191_5,
            0.0,
            0.0,
            0.0,
            0.0,
        ],
        [
            -0.107_352_905_815_137_5,
            -9.594_562_251_023_355,
            -20.470_286_148_096_16,
            0.0,
            0.0,
            0.0,
        ],
        [
            7.496_443_313_967_647,
            -10.246_804_314_643_52,
            -33.999_903_528_199_05,
            11.708_908_932_061_6,
            0.0,
            0.0,
        ],
        [
            8.083_246_795_921_522,
            -7.981_132_988_064_893,
            -31.521_594_328_743_71,
            16.319_305_431_231_36,
            -6.058_818_238_834_054,
            0.0,
        ],
    ],
    d2: [
        10.126_235_083_445_86,
        -7.487_995_877_610_167,
        -34.800_918_615_557_47,
        -7.992_771_707_568_823,
        1.025_137_723_295_662,
        0.0,
    ],
    d3: [
        -0.676_280_339_280_689_8,
        6.087_714_651_680_015,
        16.430_843_208_924_78,
        24.767_225_114_183_86,
        -6.594_389_125_716_872,
        0.0,
    ],
};

/// Order of the method.
pub const ORDER: i32 = 4;

/// The solution inside the step just taken: a cubic per state.
#[derive(Clone, Debug, Default)]
pub struct Dense<T = f64> {
    /// State at the start.
    pub from: Vec<T>,
    /// State at the end.
    pub to: Vec<T>,
    /// Quadratic coefficients.
    pub c3: Vec<T>,
    /// Cubic coefficients.
    pub c4: Vec<T>,
}

impl<T: Lane> Dense<T> {
    /// A place for steps of `n` states.
    pub fn new(n: usize) -> Dense<T> {
        let zeros = || vec![T::default(); n];
        Dense {
            from: zeros(),
            to: zeros(),
            c3: zeros(),
            c4: zeros(),
        }
    }

    /// One state at a fraction `s` (0 to 1) of the step.
    #[inline(always)]
    pub fn one(&self, k: usize, s: T) -> T {
        let r = T::splat(1.0) - s;
        self.from[k] * r + s * (self.to[k] + r * (self.c3[k] + s * self.c4[k]))
    }

    /// One state of one lane at a fraction `s` (0 to 1) of the step.
    pub fn one_in(&self, lane: usize, k: usize, s: f64) -> f64 {
        let r = 1.0 - s;
        let of = |values: &[T]| values[k].lane(lane);
        of(&self.from) * r + s * (of(&self.to) + r * (of(&self.c3) + s * of(&self.c4)))
    }

    /// The state at a fraction `s` (0 to 1) of the step.
    #[inline(always)]
    pub fn at(&self, s: T, out: &mut [T]) {
        for (k, out) in out.iter_mut().enumerate() {
            T::one_by_one();
            *out = self.one(k, s);
        }
    }
}
