//! The program. What it does is in the library, `bitepoint::faces::cli`.

/// Trees are made of many small pieces, which this allocator hands out and takes back sooner than
/// the system's.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    bitepoint::faces::cli::main()
}
