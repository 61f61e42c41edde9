//! Locks.

use std::sync::{Mutex, MutexGuard, PoisonError};

/// What a mutex holds, also after a thread that held it panicked.
pub(crate) fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
