//! Locks.

use std::sync::{Mutex, MutexGuard, PoisonError};

/// What a mutex holds, also after somebody who held it fell over.
pub(crate) fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
