//! Many threads at once: each rider gets their own answers, in order, within Discord's pace.

use std::time::Duration;

use crate::fake::world::World;
use crate::stage::{GUILD, Stage};

const THREADS: usize = 200;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_hundred_threads_at_once() {
    let mut stage = Stage::set().await;
    stage
        .fake
        .set(|settings| settings.patience = Duration::from_secs(90));
    stage.serve().await;
    let mut threads = Vec::new();
    for number in 0..THREADS {
        let rider = stage
            .fake
            .member(GUILD, &format!("demo-rider-{number}"), &[]);
        let message = stage.fake.say(stage.channel, rider, "hello");
        let thread = stage.fake.start_thread(message, rider, "bike");
        threads.push((thread, rider));
    }
    let bot = stage.fake.application();
    for (thread, rider) in &threads {
        let text = format!("<@{bot}> it cranks but will not start");
        stage.fake.slash(*thread, *rider, "bike-trouble", &[]);
        stage.fake.say(*thread, *rider, &text);
    }
    let answered = |world: &World| {
        let both = |(thread, _): &(u64, u64)| {
            let said = world.bot_said(*thread);
            said.iter()
                .filter(|one| one.content().contains("Understood"))
                .count()
                == 1
        };
        threads.iter().all(both)
    };
    stage
        .fake
        .wait_until("everybody to be answered", answered)
        .await;
    let (_, busiest) = stage.fake.pace();
    assert!(busiest <= 50, "{busiest} requests in a second");
    stage.stop().await;
}
