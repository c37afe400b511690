import { expect, it } from "vitest";
import type { Event } from "./api";
import { answersOf, eventOf } from "./event_form";

const EVENT: Event = {
  id: "E1",
  title: "Drilled the boiler panel",
  started_at: "2026-12-01T10:00",
  materials: ["M5"],
  cuts: [{ task: "drill", room: "R4", face: "wall-4", minutes: 15 }],
  stays: [
    { person: "PE1", room: "R4", from_min: 0, to_min: 60, at_the_work: true },
    { person: "PE2", room: "R1", from_min: 10, to_min: 40 },
  ],
  masks: [{ person: "PE1", respirator: "ffp3", from_min: 0, to_min: 60 }],
};

it("asks of an event what it was written down from", () => {
  const answers = answersOf(EVENT);
  expect(answers?.who.PE1).toMatchObject({ room: "R4", near: true, mask: "ffp3" });
  expect({ id: "E1", ...eventOf(answers!) }).toEqual(EVENT);
});

it("does not offer to change what it could not hold", () => {
  const twice = [...EVENT.cuts!, { task: "sweep", room: "R4", face: "floor", minutes: 5 }];
  expect(answersOf({ ...EVENT, cuts: twice })).toBeUndefined();
  expect(answersOf({ ...EVENT, cuts: [{ ...EVENT.cuts![0]!, count: 4 }] })).toBeUndefined();
  const share = [{ person: "PE1", respirator: "ffp3", from_min: 0, to_min: 60, share_worn: 0.5 }];
  expect(answersOf({ ...EVENT, masks: share })).toBeUndefined();
});

it("leaves out who was not in the house", () => {
  const answers = answersOf(EVENT)!;
  const away = { ...answers, who: { ...answers.who, PE2: { ...answers.who.PE2!, room: "away" } } };
  expect(eventOf(away).stays).toHaveLength(1);
});
