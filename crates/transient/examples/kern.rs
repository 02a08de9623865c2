use std::hint::black_box;
use std::time::Instant;
use tidewall_ladder::Layout;
use tidewall_lanes::*;
use tidewall_transient::lu::Symbolic;

struct F<'a, T>(&'a Symbolic, &'a mut [T], &'a mut [T]);
impl<T: Lane> Job for F<'_, T> {
    type Output = T;
    #[inline(always)]
    fn run(self) -> T {
        let s = self.0.factor(self.1);
        for _ in 0..6 { self.0.solve(self.1, self.2); }
        s
    }
}
struct E<'a, T>(&'a [T], &'a mut [T], u8);
impl<T: Lane> Job for E<'_, T> {
    type Output = ();
    #[inline(always)]
    fn run(self) {
        match self.2 {
            0 => for (a, b) in self.0.iter().zip(self.1) { *b = exp(*a); },
            1 => for (a, b) in self.0.iter().zip(self.1) { *b = ln(*a); },
            2 => for (a, b) in self.0.iter().zip(self.1) { *b = softplus(*a).0; },
            _ => for (a, b) in self.0.iter().zip(self.1) { *b = softplus(*a).1 * pow(*a, T::splat(1.7)); },
        }
    }
}
fn go<T: Lane>(name: &str, sym: &Symbolic, n: usize, scalar: bool) {
    let m: Vec<T> = (0..sym.slots()).map(|k| T::splat(if k < n { 5.0 } else { 0.3 })).collect();
    let mut v = m.clone();
    let mut b = vec![T::splat(1.0); n];
    let mut best = f64::MAX;
    for _ in 0..400 {
    let t = Instant::now();
    for _ in 0..200 {
        v.copy_from_slice(black_box(&m));
        if scalar { F(sym, &mut v, &mut b).run(); } else { wide(F(sym, &mut v, &mut b)); }
        black_box(&mut b);
    }
    best = best.min(t.elapsed().as_secs_f64() / 200.0 * 1e9);
    }
    println!("{name}: factor + 6 solves {best:.1} ns per call");
    let x: Vec<T> = (0..64).map(|k| T::of(|l| 0.01 + k as f64 * 0.3 + l as f64 * 0.1)).collect();
    let mut y = x.clone();
    for which in 0..4 {
        let mut best = f64::MAX;
        for _ in 0..200 {
        let t = Instant::now();
        for _ in 0..100 {
            if scalar { E(black_box(&x), &mut y, which).run(); } else { wide(E(black_box(&x), &mut y, which)); }
            black_box(&mut y);
        }
        best = best.min(t.elapsed().as_secs_f64() / 100.0 / 64.0 * 1e9);
        }
        println!("  f{which} {best:.2} ns per item");
    }
}
fn main() {
    let n = 24;
    let mut places = vec![];
    for k in 0..n { for j in [k + 1, k + 2] { if j < n && (k % 3 == 0 || j == k + 1) { places.push((k, j)); places.push((j, k)); } } }
    let sym = Symbolic::new(n, &places);
    println!("n {n} slots {}", sym.slots());
    go::<f64>("scalar", &sym, n, true);
    go::<Pack<4>>("pack4", &sym, n, false);
    go::<Pack<8>>("pack8", &sym, n, false);
}
