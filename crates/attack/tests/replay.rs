//! Every file of the corpus and hundreds of bad ones made from each: no panic, and a bound on the work.
//!
//! Files that were findings of an attack stay in the corpus under names that begin with `found-`. One test, because what is
//! allocated is counted for the whole process.

use std::alloc::System;

use stats_alloc::{INSTRUMENTED_SYSTEM, Region, StatsAlloc};
use tidewall_attack::mutate::Mutator;
use tidewall_attack::{corpus, targets};

#[global_allocator]
static MEMORY: &StatsAlloc<System> = &INSTRUMENTED_SYSTEM;

/// Bad files made from each corpus.
const BAD: usize = 400;
/// Fewer where each costs a page or a whole import.
const FEW: usize = 120;
/// Bytes that the reading of one file may allocate in all, those given back included: the bound on its work. Files are at most
/// 48 KiB.
const MOST_BYTES: usize = 1 << 30;

#[test]
fn the_corpus_and_what_is_made_from_it() {
    for target in targets() {
        let files = corpus::files(target.name).unwrap();
        assert!(!files.is_empty(), "the corpus of `{}` is empty", target.name);
        let few = matches!(target.name, "import" | "mapping" | "request" | "parts-file");
        let mut mutator = Mutator::new(7, &files, target.words);
        let whole = files.iter().map(|(name, bytes)| (name.clone(), bytes.clone()));
        let bad = (0..if few { FEW } else { BAD }).map(|k| (format!("bad file {k}"), mutator.next_file()));
        for (name, bytes) in whole.chain(bad) {
            let before = Region::new(MEMORY);
            (target.run)(&bytes);
            let allocated = before.change().bytes_allocated;
            assert!(
                allocated <= MOST_BYTES,
                "{}: {name} of {} bytes allocated {allocated} bytes",
                target.name,
                bytes.len()
            );
        }
    }
}
