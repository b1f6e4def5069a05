//! One strict transaction: all of it or nothing.

use super::database::{answer, ended, ending, reason, strict};
use super::{Row, Shelf, Why};
use crate::device::reach;
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use web_sys::{Event, IdbDatabase, IdbObjectStore, IdbRequest, IdbTransaction};

/// What one transaction is to do.
#[derive(Clone, Copy)]
pub enum Deed<'a> {
    /// Put rows on a shelf where nothing is ever overwritten.
    Keep(Shelf, &'a [Row]),
    /// Put rows on a shelf, over what is there.
    Lay(Shelf, &'a [Row]),
    /// Take rows off a shelf.
    Remove(Shelf, &'a [String]),
}

impl Deed<'_> {
    pub(super) fn shelf(&self) -> Shelf {
        match *self {
            Self::Keep(shelf, _) | Self::Lay(shelf, _) | Self::Remove(shelf, _) => shelf,
        }
    }
}

/// What a complete transaction has to tell.
pub(super) struct Done {
    /// Keys that came with other text than was kept; both are kept now.
    pub(super) conflicts: Vec<String>,
    /// The promise the browser says it gave: `strict`, or empty in a browser that does not say.
    pub(super) durability: String,
}

/// Does all the deeds in one strict transaction. `Ok` only when it is complete; after `Err` nothing
/// of it was kept, except after [`Why::Slow`], where it may still be. `millis`: when to call it slow.
pub(super) async fn carry_out(
    db: &IdbDatabase,
    deeds: &[Deed<'_>],
    millis: i32,
) -> Result<Done, Why> {
    let shelves: Vec<Shelf> = deeds.iter().map(Deed::shelf).collect();
    let transaction = strict(db, &shelves)?;
    let durability = reach::get(&transaction, "durability")
        .as_string()
        .unwrap_or_default();
    let end = ending(&transaction, millis);
    let mut conflicts = Vec::new();
    if let Err(why) = fill(&transaction, deeds, &mut conflicts).await {
        let _ = transaction.abort();
        let _ = ended(end, &transaction).await;
        return Err(reason(&transaction).unwrap_or(why));
    }
    // Spares the browser the wait for more requests; an old one does it unasked.
    let _ = reach::call(&transaction, "commit", &[]);
    ended(end, &transaction).await?;
    Ok(Done {
        conflicts,
        durability,
    })
}

async fn fill(
    transaction: &IdbTransaction,
    deeds: &[Deed<'_>],
    conflicts: &mut Vec<String>,
) -> Result<(), Why> {
    for deed in deeds {
        let store = transaction
            .object_store(deed.shelf().name())
            .map_err(|why| Why::of(&why))?;
        match *deed {
            Deed::Keep(_, rows) => keep(&store, rows, conflicts).await?,
            Deed::Lay(_, rows) => {
                for row in rows {
                    let _ = store
                        .put_with_key(&row.text.as_str().into(), &row.key.as_str().into())
                        .map_err(|why| Why::of(&why))?;
                }
            }
            Deed::Remove(_, keys) => {
                for key in keys {
                    let _ = store
                        .delete(&key.as_str().into())
                        .map_err(|why| Why::of(&why))?;
                }
            }
        }
    }
    Ok(())
}

/// Where a request carries the number of its row.
const NUMBER: &str = "pinfoldRow";

/// Adds every row without looking first, which is the common case and the quick one, then looks
/// only at the keys that were taken.
async fn keep(
    store: &IdbObjectStore,
    rows: &[Row],
    conflicts: &mut Vec<String>,
) -> Result<(), Why> {
    let Some(first) = rows.first() else {
        return Ok(());
    };
    let taken: Rc<RefCell<Vec<usize>>> = Rc::default();
    let refused = {
        let taken = Rc::clone(&taken);
        Closure::<dyn Fn(Event)>::new(move |event: Event| {
            if let Some(number) = number_if_taken(&event) {
                // Otherwise the whole transaction would be aborted.
                event.prevent_default();
                event.stop_propagation();
                taken.borrow_mut().push(number);
            }
        })
    };
    for (number, row) in rows.iter().enumerate() {
        let request = add(store, &row.key, &row.text)?;
        reach::set(&request, NUMBER, &JsValue::from_f64(number as f64));
        request.set_onerror(Some(refused.as_ref().unchecked_ref()));
    }
    // Requests are answered in order: when this one is, all of the above are.
    let last = store
        .get_key(&first.key.as_str().into())
        .map_err(|why| Why::of(&why))?;
    answer(&last).await?;

    let taken = taken.take();
    for row in taken.iter().filter_map(|&number| rows.get(number)) {
        if beside(store, row).await? {
            conflicts.push(row.key.clone());
        }
    }
    Ok(())
}

fn number_if_taken(event: &Event) -> Option<usize> {
    let request: IdbRequest = event.target()?.unchecked_into();
    let error = request.error().ok()??;
    let number = reach::get(&request, NUMBER).as_f64()?;
    (error.name() == "ConstraintError").then_some(number as usize)
}

fn add(store: &IdbObjectStore, key: &str, text: &str) -> Result<IdbRequest, Why> {
    store
        .add_with_key(&text.into(), &key.into())
        .map_err(|why| Why::of(&why))
}

/// Keeps a row whose key is taken: nothing to do if the same text is there, else beside it. True if
/// it had to be put beside.
async fn beside(store: &IdbObjectStore, row: &Row) -> Result<bool, Why> {
    let mut key = row.key.clone();
    let mut ordinal = 0_u32;
    loop {
        let request = store
            .get(&key.as_str().into())
            .map_err(|why| Why::of(&why))?;
        let there = answer(&request).await?;
        if there.is_undefined() {
            answer(&add(store, &key, &row.text)?).await?;
            return Ok(true);
        }
        if there.as_string().as_deref() == Some(row.text.as_str()) {
            return Ok(false);
        }
        ordinal = ordinal.saturating_add(1);
        key = beside_key(&row.key, ordinal);
    }
}

/// The key for text that came under a key already taken: `key~1`, `key~2` and so on. It sorts
/// straight after the key itself.
pub(super) fn beside_key(key: &str, ordinal: u32) -> String {
    let plain = key.split_once('~').map_or(key, |(plain, _)| plain);
    format!("{plain}~{ordinal}")
}
