//! What the end of a gateway connection asks for: resume, identify anew, or give up with a remedy.

/// What to do after a connection has ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum After {
    /// Connect again and ask for what was missed.
    Resume,
    /// Connect again with a new session; what was missed is read over REST.
    Anew,
    /// Stop: connecting again cannot help.
    GiveUp(Refusal),
}

/// Why Discord will not have us, and what a person can do about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// The token is wrong.
    #[error(
        "Discord does not accept the token; copy it anew from the application's page, Bot, and put it where the configuration says"
    )]
    Token,
    /// The shard numbers are impossible.
    #[error(
        "Discord does not accept the shard numbers; set discord.shards so that first <= last < total"
    )]
    Shard,
    /// The bot is in too many groups for one shard.
    #[error("the bot is in too many groups for so few shards; raise discord.shards.total")]
    Sharding,
    /// Discord no longer speaks this version of its interface.
    #[error("Discord no longer speaks this version of its interface; update floatbowl")]
    Version,
    /// The intents make no sense.
    #[error("Discord does not know the intents asked for; update floatbowl")]
    Intents,
    /// The message-content intent is not granted.
    #[error(
        "the message content intent is not granted; switch it on at the application's page, Bot, Message Content Intent, or set discord.message_content = false"
    )]
    MessageContent,
}

/// What a close code means.
///
/// Source: Discord developer documentation, Opcodes and Status Codes, Gateway Close Event Codes.
/// Without a code, or with one of WebSocket's own, the session is still there.
#[must_use]
pub fn after(code: Option<u16>) -> After {
    match code {
        Some(4003 | 4007 | 4009) => After::Anew,
        Some(4004) => After::GiveUp(Refusal::Token),
        Some(4010) => After::GiveUp(Refusal::Shard),
        Some(4011) => After::GiveUp(Refusal::Sharding),
        Some(4012) => After::GiveUp(Refusal::Version),
        Some(4013) => After::GiveUp(Refusal::Intents),
        Some(4014) => After::GiveUp(Refusal::MessageContent),
        _ => After::Resume,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case(None, After::Resume)]
    #[case(Some(1000), After::Resume)]
    #[case(Some(1001), After::Resume)]
    #[case(Some(4000), After::Resume)]
    #[case(Some(4008), After::Resume)]
    #[case(Some(4007), After::Anew)]
    #[case(Some(4009), After::Anew)]
    #[case(Some(4004), After::GiveUp(Refusal::Token))]
    #[case(Some(4012), After::GiveUp(Refusal::Version))]
    #[case(Some(4014), After::GiveUp(Refusal::MessageContent))]
    fn a_code_says_how_to_go_on(#[case] code: Option<u16>, #[case] expected: After) {
        assert_eq!(after(code), expected);
    }
}
