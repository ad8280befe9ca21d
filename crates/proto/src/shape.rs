//! The two shapes of a message: what is asked, strict in what it takes; what is told, silent about what it lacks.

/// Params: members before `may` are required, those after it optional. Unknown ones are refused by serde.
macro_rules! asks {
    ($(#[$doc:meta])* $name:ident { $($(#[$need_doc:meta])* $need:ident: $need_type:ty,)* } may { $($(#[$may_doc:meta])* $may:ident: $may_type:ty,)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize, schemars::JsonSchema)]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            $( $(#[$need_doc])* pub $need: $need_type, )*
            $( $(#[$may_doc])* #[serde(default, skip_serializing_if = "Option::is_none")] pub $may: Option<$may_type>, )*
        }
    };
}

/// An answer or a part of one: members after `may` are left out where there is nothing to say, never zero.
macro_rules! tells {
    ($(#[$doc:meta])* $name:ident { $($(#[$need_doc:meta])* $need:ident: $need_type:ty,)* } may { $($(#[$may_doc:meta])* $may:ident: $may_type:ty,)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, serde::Serialize, schemars::JsonSchema)]
        pub struct $name {
            $( $(#[$need_doc])* pub $need: $need_type, )*
            $( $(#[$may_doc])* #[serde(skip_serializing_if = "Option::is_none")] pub $may: Option<$may_type>, )*
        }
    };
}

/// Ties params to their method.
macro_rules! method {
    ($params:ty => $answer:ty, $name:literal, $summary:literal $(, writes: $writes:literal)? $(, leading: $leading:expr)?) => {
        impl $crate::method::Method for $params {
            type Answer = $answer;
            const NAME: &'static str = $name;
            const SUMMARY: &'static str = $summary;
            $( const WRITES: bool = $writes; )?
            $( const LEADING: &'static [&'static str] = &$leading; )?
        }
    };
}

pub(crate) use {asks, method, tells};
