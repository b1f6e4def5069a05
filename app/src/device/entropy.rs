//! Random bits from the browser's generator for secrets.

use pinfold_core::base::id::Replica;

/// `N` random bytes, or nothing where the browser has no generator. There is no second-best source:
/// an id or a key that can be guessed is worse than none.
#[must_use]
pub fn bytes<const N: usize>() -> Option<[u8; N]> {
    let crypto = web_sys::window()?.crypto().ok()?;
    let mut drawn = [0; N];
    crypto.get_random_values_with_u8_array(&mut drawn).ok()?;
    Some(drawn)
}

/// The name of this run of the app: 128 random bits.
#[must_use]
pub fn replica() -> Option<Replica> {
    bytes().map(u128::from_be_bytes).map(Replica)
}
