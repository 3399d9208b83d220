//! A handle is given once.

use litdiode::cancel::Token;
use litdiode_capi::handles::{LAST_GENERATION, PLACES, Table};
use litdiode_capi::misuse::Misuse;
use litdiode_capi::objects::Object;

/// A place is used again, its handle is not; after the last generation the place is left alone.
#[test]
fn a_handle_is_given_once() {
    let mut table = Table::beginning_at(LAST_GENERATION - 1);
    let mut given: Vec<u64> = Vec::new();
    for _ in 0..4 {
        let handle = table.insert(Object::Cancel(Token::new())).unwrap();
        assert!(!given.contains(&handle) && handle < 1 << 52, "{handle}");
        assert!(matches!(table.take("handle", handle), Ok(Object::Cancel(_))));
        assert_eq!(
            table.take("handle", handle).err(),
            Some(Misuse::BadHandle { argument: "handle", handle })
        );
        given.push(handle);
    }
    let places: Vec<u64> = given.iter().map(|h| h % PLACES as u64).collect();
    assert_eq!((places, table.in_use()), (vec![0, 0, 1, 1], 0));
}
