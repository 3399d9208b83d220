//! What handles stand for: one table of all objects, the only state of the library.
//!
//! ```text
//! handle = generation·2²² + place        0 < generation < 2³⁰, so that a handle is below 2⁵² and exact as a double
//! ```
//!
//! A place that is used again has the next generation, and a place whose generations are used up is never used again: a
//! handle that was freed stands for nothing for ever. Generations begin at a random number, so that handles of another
//! process or of another copy of the library are found out but for one in 2²⁸.

use crate::misuse::{Fault, Misuse};
use crate::objects::{Kind, Object};
use std::hash::{BuildHasher, RandomState};
use std::sync::{LazyLock, Mutex, MutexGuard, PoisonError};

const PLACE_BITS: u32 = 22;
/// Places that there can be.
pub const PLACES: usize = 1 << PLACE_BITS;
/// The last generation of a place.
pub const LAST_GENERATION: u32 = (1 << 30) - 1;

struct Place {
    generation: u32,
    object: Option<Object>,
}

/// Objects by place, and which of the places are free.
pub struct Table {
    places: Vec<Place>,
    free: Vec<u32>,
    first_generation: u32,
    in_use: usize,
}

static TABLE: LazyLock<Mutex<Table>> = LazyLock::new(|| {
    let random = RandomState::new().hash_one(0u8) as u32;
    Mutex::new(Table::beginning_at(1 + random % (1 << 28)))
});

fn table() -> MutexGuard<'static, Table> {
    // No change of the table is ever half done.
    TABLE.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Table {
    /// A table that is empty; `first_generation` is the first that a place has.
    pub const fn beginning_at(first_generation: u32) -> Self {
        Self { places: Vec::new(), free: Vec::new(), first_generation, in_use: 0 }
    }

    /// How many handles are in use.
    pub const fn in_use(&self) -> usize {
        self.in_use
    }

    /// The place that was given with `handle`, whether or not something is in it.
    fn place(&mut self, handle: u64) -> Option<&mut Place> {
        let (index, generation) = (handle % PLACES as u64, handle / PLACES as u64);
        self.places.get_mut(index as usize).filter(|place| u64::from(place.generation) == generation)
    }

    /// What `handle` stands for.
    fn find(&mut self, argument: &'static str, handle: u64) -> Result<&mut Object, Misuse> {
        let object = self.place(handle).and_then(|place| place.object.as_mut());
        object.ok_or(Misuse::BadHandle { argument, handle })
    }

    /// A handle for `object`.
    pub fn insert(&mut self, object: Object) -> Result<u64, Misuse> {
        let index = match self.free.pop() {
            Some(index) => index as usize,
            None if self.places.len() < PLACES => {
                self.places.push(Place { generation: self.first_generation - 1, object: None });
                self.places.len() - 1
            }
            None => return Err(Misuse::TableFull { count: self.in_use }),
        };
        let place = &mut self.places[index];
        place.generation += 1;
        place.object = Some(object);
        self.in_use += 1;
        Ok(u64::from(place.generation) << PLACE_BITS | index as u64)
    }

    /// What `handle` stood for.
    pub fn take(&mut self, argument: &'static str, handle: u64) -> Result<Object, Misuse> {
        let found = self.place(handle).and_then(|place| Some((place.generation, place.object.take()?)));
        let (generation, object) = found.ok_or(Misuse::BadHandle { argument, handle })?;
        self.in_use -= 1;
        if generation < LAST_GENERATION {
            self.free.push((handle % PLACES as u64) as u32);
        }
        Ok(object)
    }
}

/// A handle for `object`.
pub fn insert(object: Object) -> Result<u64, Fault> {
    Ok(table().insert(object)?)
}

/// Forgets what `handle` stands for. Work that uses it keeps it until it is through.
pub fn free(argument: &'static str, handle: u64) -> Result<(), Fault> {
    let object = table().take(argument, handle)?;
    // Freed after the table is open to others again.
    drop(object);
    Ok(())
}

/// What `handle` stands for, whatever it is.
pub fn object(argument: &'static str, handle: u64) -> Result<Object, Fault> {
    Ok(table().find(argument, handle)?.clone())
}

/// What `handle` stands for, of the kind that is wanted.
pub fn get<T: Kind>(argument: &'static str, handle: u64) -> Result<T, Fault> {
    change(argument, handle, |found: &mut T| found.clone())
}

/// The same, or none for the handle 0.
pub fn optional<T: Kind>(argument: &'static str, handle: u64) -> Result<Option<T>, Fault> {
    if handle == 0 { Ok(None) } else { get(argument, handle).map(Some) }
}

/// Changes what `handle` stands for, under the lock of the table: `change` must be short.
pub fn change<T: Kind, R>(
    argument: &'static str,
    handle: u64,
    change: impl FnOnce(&mut T) -> R,
) -> Result<R, Fault> {
    let mut table = table();
    let object = table.find(argument, handle)?;
    let wrong = Misuse::WrongKind { argument, handle, found: object.name(), wanted: T::NAME };
    T::of(object).map(change).ok_or_else(|| wrong.into())
}

/// How many handles are in use.
pub fn in_use() -> usize {
    table().in_use()
}
