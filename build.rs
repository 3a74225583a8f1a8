//! Will turn the rule book's data files into static tables.
fn main() {
    println!("cargo:rerun-if-changed=rules");
}
