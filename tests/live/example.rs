//! The example that a user would copy runs to its end.

#[path = "../../examples/acquisition.rs"]
mod acquisition;

#[test]
fn the_acquisition_runs() {
    acquisition::main().unwrap();
}
