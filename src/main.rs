//! The thin binary: everything it does is in the library.
fn main() -> std::process::ExitCode {
    walkaround::command_line::run()
}
