//! The program. What it does is in the library, `bitepoint::faces::cli`.

fn main() -> std::process::ExitCode {
    bitepoint::faces::cli::main()
}
