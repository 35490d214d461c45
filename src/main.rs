//! Mounts the app; on a host there is none.

fn main() {
    #[cfg(target_arch = "wasm32")]
    rungbook::app::mount();
}
