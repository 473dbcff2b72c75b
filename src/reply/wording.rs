//! Every sentence a person reads that is not knowledge.
