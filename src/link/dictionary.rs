//! What plans of classes often say.

/// The preset dictionary of version 1. It is part of the form: changing a byte of it breaks every
/// link that is out there, so that another dictionary is another version. The commonest stands
/// last, where it is cheapest to refer to. U+0001 parts texts, as in what is packed.
pub(super) const DICTIONARY: &str = concat!(
    "Step the {other} foot back, bend both knees, stand up.\u{1}",
    "Stand and hold one dumbbell upright at the chest. Quad stretch\u{1}Bear crawl\u{1}",
    "Burpee\u{1}Put the free foot down if you wobble. Land with soft knees. ",
    "Sink into a squat\u{1}round the upper back, ",
    "Draw big, slow circles with both arms, then change direction.\u{1}Jump the feet wide, ",
    "Side steps, no jump\u{1}Let the arms swing\u{1}Clear the floor on both sides of you.\u{1}",
    "Finisher\u{1}Arms overhead\u{1}Shoulders away from the ears\u{1}hold a chair\u{1}",
    "Hold a chair\u{1}Toes stay down\u{1}Shift weight, feet down\u{1}Knee above hip height\u{1}",
    "Hold it looser\u{1}Light, quiet feet\u{1}Turn and pull without a jerk.\u{1}",
    "Reach only as high as the shoulders allow.\u{1}",
    "Punch straight ahead, one fist after the other, quick and light.\u{1}Face down, ",
    "On the forearms\u{1}Step out and in\u{1}the opposite Take small steps to one side, ",
    "{side} elbow under the shoulder\u{1}Stay well on the seat. Keep the wrists straight.\u{1}",
    "Look at the mat\u{1}Stand facing a Two kicks, With a kettlebell\u{1}shoulder blades",
    "Walk-out\u{1}Lower the knees before the back sags. Make fists for sore wrists.\u{1}",
    "Squat\u{1}A Harbour Hall community class, Low back Jumping jack\u{1}{side} foot first\u{1}",
    "Stop the lean where the back would round.\u{1}the feet hip width apart, ",
    "One line from head to knees\u{1}Open and pull\u{1}No bouncing\u{1}Hip hinge\u{1}",
    "Smaller, slower pull\u{1}Pregnant, Two counts, then drive up\u{1}Pause overhead\u{1}",
    "Chair against a wall. Step to the {side}.\u{1}Legs straighter\u{1}Clamshell\u{1}",
    "Lift the legs too\u{1}Other leg flat\u{1}weak bones: take the easier option.One leg\u{1}",
    "Back lunge\u{1}Breathe into the chest\u{1}draw both elbows back past the ribs, ",
    "Lie on your back on the mat, knees bent, arms wide. do it standing.\u{1}",
    "Stop if a shoulder hurts.\u{1}Towel hamstring stretch\u{1}Seated march\u{1}",
    "Toes on the floor behind\u{1}invented for demonstration. Bend the knee more\u{1}",
    "pelvic floor leaks or feels heavy.Lateral shuffle\u{1}Add a push-up\u{1}",
    "Squeeze at the top\u{1}Stand near a wall if your balance is unsure.\u{1}Easy walk\u{1}Dry, ",
    "Feet a little apart\u{1}Land softly\u{1}Bicycle crunch\u{1}Press-up\u{1}Hollow hold\u{1}",
    "No swinging\u{1}in front, Lie on one side\u{1}Weight on the {side} foot\u{1}Mild pull, ",
    "Band chest press\u{1}the wrists Pause at the bottom\u{1}Top leg long\u{1}Side plank\u{1}",
    "Push the {side} heel up\u{1}Hands and knees, belly in\u{1}Lying twist\u{1}Double speed\u{1}",
    "Four punches in a row\u{1}and only as far as is comfortable.\u{1}between the ",
    "Stand tall for the last one.\u{1}on a wallsoles of the feet together, Hip first, ",
    "arms crossed. so that the head level\u{1}Heel-to-toe stand\u{1}slow circle\u{1}",
    "Lie on the {side} side, Longer out than in\u{1}hips with leaning forward from the hips, ",
    "Chest opener\u{1}Towel round the ankle\u{1}Slow, hands on the thighs\u{1}Short step, ",
    "Seated heel raise\u{1}Leg stretch\u{1}as you can Touch the floor each side\u{1}",
    "One arm at a timetwo water bottles\u{1}Overhead triceps extension\u{1}",
    "Step back and reach\u{1}and hold one bend both knees, back stillsteady in\u{1}",
    "Sweep the arms up, lower them slowly.\u{1}Stand tall and turn a little folded blanket\u{1}",
    "Three counts downSide lunge\u{1}Arms slow\u{1}Small bend\u{1}reach long\u{1}",
    "Walk on the spot.\u{1}Push through Sip some water.\u{1}Step touch\u{1}Arm circle\u{1}",
    "Good morning\u{1}Half squat\u{1}Bird dog\u{1}Romanian deadlift\u{1}Shoulder press\u{1}",
    "Split squat\u{1}Jab and cross\u{1}Forearm plank\u{1}Speed punches\u{1}",
    "Hip-flexor stretch\u{1}Figure-four stretch\u{1}Belly breathing\u{1}Dead bug\u{1}",
    "Bent-over row\u{1}High knees\u{1}Whole {side} foot down\u{1}one straight line.\u{1}",
    "breathe in and out slowly.\u{1}Main set\u{1}Circuit\u{1}Superset\u{1}Ladder\u{1}",
    "Strength sets\u{1}kettlebell\u{1}resistance band\u{1}Push-up\u{1}Goblet squat\u{1}",
    "Deadlift\u{1}Glute bridge\u{1}Push both palms forward at chest height, Keep breathing\u{1}",
    "Long back\u{1}sturdy chair without wheels\u{1}two dumbbells\u{1}mat\u{1}Warm-up\u{1}",
    "Water\u{1}Cool-down\u{1}Harbour Hall class, Sit down if you feel dizzy.\u{1}",
    "Tall breathing\u{1}March, no jump\u{1}Sit on a chair\u{1}Knees over the toes\u{1}",
    "Stop if a knee hurts.\u{1}Elbow under the shoulder\u{1}No weight, half squat\u{1}",
    "Step the {other} foot back, lift the hips.\u{1}Sit back halfway, stand up.\u{1}",
    "on the {side} foot",
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn version_1_never_changes() {
        // CRC-32 (ISO-HDLC). If this fails, add a dictionary and a version; do not change the number.
        let crc = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC).checksum(DICTIONARY.as_bytes());
        assert_eq!(crc, 480_488_304);
    }
}
