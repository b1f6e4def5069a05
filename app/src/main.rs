//! Only mounts; everything else lives in the library so that tests can import it.

fn main() {
    pinfold_app::start();
}
