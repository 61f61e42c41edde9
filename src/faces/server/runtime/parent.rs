//! Watches the client's process, so that a server whose client is gone ends.
//!
//! A client that is gone has closed its end of the pipes, unless another process holds them open.

use std::sync::Arc;
use std::time::Duration;
use sysinfo::{Pid, ProcessRefreshKind, ProcessStatus, ProcessesToUpdate, System};
use tokio::sync::Notify;

/// How often the process is checked.
const EVERY: Duration = Duration::from_secs(2);

/// Ends the session once a process has ended. A process that cannot be seen from the start, such as an editor outside
/// of the server's container, is not watched.
pub(super) async fn watch(id: u32, gone: Arc<Notify>) {
    let mut system = System::new();
    let Some(began) = began(&mut system, id) else {
        return;
    };
    // Another process may come to have the same number.
    while self::began(&mut system, id) == Some(began) {
        tokio::time::sleep(EVERY).await;
    }
    gone.notify_one();
}

/// When a process began, if it is alive.
fn began(system: &mut System, id: u32) -> Option<u64> {
    let id = Pid::from_u32(id);
    let nothing_more = ProcessRefreshKind::nothing().without_tasks();
    system.refresh_processes_specifics(ProcessesToUpdate::Some(&[id]), true, nothing_more);
    let process = system.process(id)?;
    let ended = matches!(
        process.status(),
        ProcessStatus::Zombie | ProcessStatus::Dead
    );
    (!ended).then(|| process.start_time())
}
