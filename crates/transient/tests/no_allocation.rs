//! A step allocates nothing: more steps take exactly as many allocations.

mod support;

use std::alloc::System;

use stats_alloc::{INSTRUMENTED_SYSTEM, Region, StatsAlloc};
use support::{assemble, models};
use tidewall_transient::{Options, Problem, Workspace, run};

#[global_allocator]
static ALLOCATOR: &StatsAlloc<System> = &INSTRUMENTED_SYSTEM;

#[test]
fn a_step_allocates_nothing() {
    for model in models() {
        let (assembly, equations) = assemble(&model);
        let breakpoints = model.network.breakpoints_s();
        let problem = Problem {
            equations: &equations,
            probes: &assembly.probes,
            levels: &[(0, 10.0)],
            breakpoints_s: &breakpoints,
            duration_s: model.network.finest_s,
            finest_s: model.network.finest_s,
        };
        let mut workspace = Workspace::new(&equations);
        let mut allocations = |relative: f64| {
            let options = Options::with_relative(relative);
            // The counter is the process's, and the thread of the test harness allocates now and then: the least of
            // several runs is this one's own.
            let runs = (0..5).map(|_| {
                let region = Region::new(ALLOCATOR);
                let outcome = run(&problem, &options, &mut workspace).unwrap();
                (region.change().allocations, outcome.counters.steps)
            });
            runs.min().unwrap()
        };
        let (few, steps) = allocations(1e-3);
        let (many, more_steps) = allocations(1e-7);
        assert!(
            more_steps > 2 * steps,
            "{}: {steps} and {more_steps} steps",
            model.name
        );
        assert_eq!(
            few, many,
            "{}: allocations of {steps} and {more_steps} steps",
            model.name
        );
    }
}
