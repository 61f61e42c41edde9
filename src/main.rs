fn main() -> std::process::ExitCode {
    bitepoint::faces::cli::main()
}
